// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/recognise.hpp"

#include <algorithm>
#include <fstream>
#include <map>

#include "formats/drill/content.hpp"
#include "formats/import/file_names.hpp"
#include "formats/import/judge.hpp"
#include "formats/import/zip_archive.hpp"
#include "formats/ipc_d_356/record.hpp"
#include "isthmus/formats/ipc_2581.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kHead = 1u << 20;  // enough for any header
constexpr std::size_t kMaxFiles = 2000;

std::string head_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::string bytes(kHead, '\0');
  in.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  bytes.resize(static_cast<std::size_t>(std::max<std::streamsize>(in.gcount(), 0)));
  return bytes;
}

bool is_gerber(std::string_view head) {
  return contains(head, "%FS") || contains(head, "%ADD") || contains(head, "%MO");
}

bool is_netlist(const std::vector<std::string_view>& lines) {
  for (const std::string_view line : lines) {
    if (line.substr(0, 8) == "P  UNITS" || line.substr(0, 6) == "P  JOB") return true;
    const std::string_view code = line.substr(0, 3);
    if ((code == "317" || code == "327") && parse_test_record(line, {"", 0, 2540}).ok())
      return true;
  }
  return false;
}

// The fields of .FileFunction, whichever way it is carried; empty if there is none.
std::vector<std::string> file_function(std::string_view head) {
  const std::size_t at = head.find("TF.FileFunction,");
  if (at == std::string_view::npos) return {};
  std::string_view rest = head.substr(at + 16);
  rest = rest.substr(0, rest.find_first_of("*\r\n%"));
  std::vector<std::string> out;
  for (const std::string_view field : split(rest, ',')) out.emplace_back(trim(field));
  return out;
}

void by_function(const std::vector<std::string>& function, Recognised& r) {
  const auto field = [&](std::size_t i) {
    return i < function.size() ? function[i] : std::string();
  };
  const auto side = [](const std::string& word) {
    return word == "Top" ? Side::top : word == "Bot" ? Side::bottom : Side::both;
  };
  r.role = FileRole::other;
  r.other_known = true;
  if (field(0) == "Copper") {
    r.role = FileRole::copper;
    r.side = side(field(2));
    if (field(1).size() > 1) r.layer = static_cast<int>(to_int(field(1).substr(1)).value_or(0));
  } else if (field(0) == "Soldermask") {
    r.role = FileRole::mask;
    r.side = side(field(1));
  } else if (field(0) == "Profile") {
    r.role = FileRole::outline;
  } else if (field(0) == "Plated" || field(0) == "NonPlated" || field(0) == "MixedPlating") {
    r.role = FileRole::drill;
  }
  r.why = "says .FileFunction ";
  for (std::size_t i = 0; i < function.size(); ++i)
    r.why += (i == 0 ? "" : ",") + shown(function[i]);
}

// A Gerber file that says nothing of itself by .FileFunction is judged once its siblings are known.
struct Seen {
  Recognised what;
  std::optional<TextClaim> open;
};

void as_drill(const std::vector<std::string>& function, std::string_view head, Recognised& r) {
  r.role = FileRole::drill;
  r.by_content = true;
  r.why = "holds drill commands";
  r.span = function.empty() ? span_by_name(r.file) : std::nullopt;
  const bool says = !function.empty() || contains(head, ";TYPE=") || contains(head, "PLATED");
  if (!says) r.plated = plating_by_name(r.file);
}

Seen look_at(const fs::path& file) {
  Seen seen;
  Recognised& r = seen.what;
  r.file = file;
  std::error_code error;
  if (const auto original = backed_up(file); original && fs::exists(*original, error)) {
    r.other_known = true;
    r.why = "a backup of " + original->filename().string();
    return seen;
  }
  const std::string head = head_of(file);
  const std::vector<std::string_view> lines = split_lines(head);
  const bool text = !contains(head, std::string_view("\0", 1));
  const std::vector<std::string> function = file_function(head);
  if (text && is_gerber(head)) {
    r.by_content = !function.empty();
    if (r.by_content) {
      by_function(function, r);
    } else {
      seen.open = claim_of_text(lines);
    }
    r.gerber = true;
    r.has_nets = contains(head, "TO.N,");
  } else if (text && is_ipc_2581(head)) {
    r.role = FileRole::netlist;
    r.by_content = true;
    r.why = "is an IPC-2581 document; its nets are used";
  } else if (text && is_netlist(lines)) {
    r.role = FileRole::netlist;
    r.by_content = true;
    r.why = "holds IPC-D-356 records";
  } else if (text && is_drill_text(lines)) {
    as_drill(function, head, r);
  } else {
    r.why = "neither Gerber, drill nor netlist";
  }
  return seen;
}

bool is_zip(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::string mark(4, '\0');
  in.read(mark.data(), 4);
  return mark == "PK\x03\x04";
}

std::vector<fs::path> sorted_entries(const fs::path& folder, bool folders) {
  std::vector<fs::path> out;
  std::error_code error;
  for (fs::directory_iterator it(folder, error), end; !error && it != end; it.increment(error)) {
    if (it->path().filename().string().substr(0, 1) == ".") continue;
    const bool wanted = folders ? it->is_directory(error) : it->is_regular_file(error);
    if (wanted) out.push_back(it->path());
  }
  std::ranges::sort(out);
  return out;
}

class Search {
 public:
  static constexpr int kDeepest = 4;
  Search(fs::path work, Diagnostics& notes) : work_(std::move(work)), notes_(notes) {}

  std::optional<Problem> look_into(const fs::path& path) {
    std::error_code error;
    if (!fs::exists(path, error)) {
      return Problem{path.string(), 0, 0, "IMP-001", "does not exist", "check the name", ""};
    }
    if (fs::is_directory(path, error)) return folder(path, 0);
    if (!fs::is_regular_file(path, error)) {
      return Problem{path.string(), 0, 0, "IMP-001", "is neither a file nor a folder", "", ""};
    }
    if (!is_zip(path)) {
      auto p = add(path, 0);
      if (!p) found_.back().what.named = true;
      return p;
    }
    return unpack(path, 0);
  }

  // A folder whose copper lies packed in it: the one archive that holds any is unpacked, too.
  std::optional<Problem> look_into_archives() {
    judge_open();
    const bool copper =
        std::ranges::any_of(found_, [](const Seen& s) { return s.what.role == FileRole::copper; });
    std::vector<Archive> full;
    for (const Archive& a : archives_) {
      if (!copper && holds_copper(a.file)) full.push_back(a);
    }
    std::erase_if(full, [&](const Archive& a) { return a.depth > full.front().depth; });
    const bool one = full.size() == 1;
    for (const Archive& a : archives_) {
      if (one && a.file == full[0].file) continue;
      notes_.note({a.file.string(), 0, 0, "IMP-022", "an archive inside a folder is not unpacked",
                   "name it itself", ""});
    }
    return one ? unpack(full[0].file, full[0].depth) : std::nullopt;
  }

  std::vector<Recognised> take() {
    judge_open();
    std::ranges::stable_sort(found_, [](const Seen& a, const Seen& b) {
      return std::pair(a.what.file, !a.what.named) < std::pair(b.what.file, !b.what.named);
    });
    std::vector<Recognised> out;
    for (Seen& s : found_) {
      if (out.empty() || out.back().file != s.what.file) out.push_back(std::move(s.what));
    }
    return out;
  }

 private:
  struct Archive {
    fs::path file;
    int depth{};
  };

  std::optional<Problem> unpack(const fs::path& archive, int depth) {
    Result<fs::path> unpacked = unpack_zip(archive, work_);
    return unpacked ? folder(*unpacked, depth) : std::optional(unpacked.problem());
  }

  static bool holds_copper(const fs::path& archive) {
    const Result<ZipFiles> files = read_zip(archive);
    return files.ok() && std::ranges::any_of(*files, [](const auto& entry) {
             const std::string_view head = std::string_view(entry.second).substr(0, kHead);
             if (!is_gerber(head)) return false;
             const std::vector<std::string> function = file_function(head);
             if (!function.empty()) return function[0] == "Copper";
             return claim_of_name(fs::path(entry.first)).claim.role == FileRole::copper;
           });
  }

  // Those of one folder together: what all their names begin with says nothing of a layer.
  void judge_open() {
    std::map<fs::path, std::vector<Seen*>> by_folder;
    for (Seen& s : found_) {
      if (s.open) by_folder[s.what.file.parent_path()].push_back(&s);
    }
    for (const auto& [folder, seen] : by_folder) {
      std::vector<fs::path> files;
      for (const Seen* s : seen) files.push_back(s->what.file);
      const std::vector<NameWords> words = telling_words(files);
      for (std::size_t i = 0; i < seen.size(); ++i) {
        judge(claim_of_name(files[i], words[i]), *seen[i]->open, seen[i]->what);
        seen[i]->open.reset();
      }
    }
  }

  std::optional<Problem> add(const fs::path& file, int depth) {
    if (found_.size() >= kMaxFiles) {
      return Problem{file.string(),
                     0,
                     0,
                     "IMP-008",
                     "more than 2000 files to look at",
                     "name the folder that holds the design files alone",
                     ""};
    }
    found_.push_back(look_at(file));
    found_.back().what.depth = depth;
    return std::nullopt;
  }

  std::optional<Problem> folder(const fs::path& path, int depth) {
    for (const fs::path& file : sorted_entries(path, false)) {
      if (is_zip(file)) {
        archives_.push_back({file, depth});
      } else if (auto p = add(file, depth)) {
        return p;
      }
    }
    for (const fs::path& sub : sorted_entries(path, true)) {
      if (depth == kDeepest) {
        notes_.note({sub.string(), 0, 0, "IMP-022", "folders as deep as this are not looked into",
                     "name it itself", ""});
      } else if (auto p = folder(sub, depth + 1)) {
        return p;
      }
    }
    return std::nullopt;
  }

  fs::path work_;
  Diagnostics& notes_;
  std::vector<Seen> found_;
  std::vector<Archive> archives_;
};

}  // namespace

Result<std::vector<Recognised>> recognise(const std::vector<fs::path>& paths, const fs::path& work,
                                          Diagnostics& notes) {
  Search search(work, notes);
  for (const fs::path& path : paths) {
    if (auto p = search.look_into(path)) return *p;
  }
  if (auto p = search.look_into_archives()) return *p;
  return search.take();
}

}  // namespace isthmus::formats
