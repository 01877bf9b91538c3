// SPDX-License-Identifier: Apache-2.0
#include <system_error>

#include "isthmus/report/report.hpp"

namespace isthmus::report {

Result<Done> write_report(const std::filesystem::path& dir, const RunView& run,
                          const expect::Board& board) {
  std::error_code error;
  std::filesystem::create_directories(dir, error);
  if (error || !std::filesystem::is_directory(dir)) {
    return Problem{dir.string(), 0, 0, "RPT-001", "cannot make this folder: " + error.message(),
                   "",           ""};
  }
  for (const auto& [file, text] :
       {std::pair{"report.html", run_html(run, board)}, std::pair{"report.json", run_json(run)},
        std::pair{"findings.csv", findings_csv(run)}}) {
    auto written = formats::write_whole_file(dir / file, text);
    if (!written) return written;
  }
  return Done{};
}

}  // namespace isthmus::report
