// SPDX-License-Identifier: Apache-2.0
#include <system_error>
#include <utility>
#include <vector>

#include "isthmus/report/report.hpp"

namespace isthmus::report {

Result<Done> ready_folder(const std::filesystem::path& dir) {
  std::error_code error;
  std::filesystem::create_directories(dir, error);
  const auto problem = [&](const std::string& why) {
    return Problem{dir.string(),
                   0,
                   0,
                   "RPT-001",
                   "cannot put a report here: " + why,
                   "name another folder with --report",
                   ""};
  };
  if (error || !std::filesystem::is_directory(dir))
    return problem(error ? error.message() : "not a folder");
  const std::filesystem::path probe = dir / ".isthmus-probe";
  if (auto written = formats::write_whole_file(probe, ""); !written)
    return problem(written.problem().message);
  std::filesystem::remove(probe, error);
  return Done{};
}

Result<Done> write_report(const std::filesystem::path& dir, const RunView& run,
                          const expect::Board& board, Origin origin) {
  if (auto ready = ready_folder(dir); !ready) return ready;
  std::vector<std::pair<const char*, std::string>> files{
      {"report.html", run_html(run, board, origin)},
      {"report.json", run_json(run)},
      {"findings.csv", findings_csv(run)},
      {"junit.xml", run_junit(run, board)},
      {"top.svg", side_svg(run, board, Side::top)}};
  if (board.copper.layers > 1) files.push_back({"bottom.svg", side_svg(run, board, Side::bottom)});
  for (const auto& [file, text] : files) {
    auto written = formats::write_whole_file(dir / file, text);
    if (!written) return written;
  }
  return Done{};
}

}  // namespace isthmus::report
