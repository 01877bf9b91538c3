// SPDX-License-Identifier: Apache-2.0
// The one file that includes libzip.
#include "formats/import/zip_archive.hpp"

#include <unistd.h>
#include <zip.h>

#include <algorithm>
#include <array>
#include <map>
#include <memory>
#include <string>
#include <system_error>

#include "isthmus/formats/design.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

namespace fs = std::filesystem;

constexpr const char* kAgain = "make it again, or name the files in it";

struct Discard {
  void operator()(zip_t* z) const { zip_discard(z); }
};
struct CloseFile {
  void operator()(zip_file_t* f) const { zip_fclose(f); }
};

// Removes what it names unless told to keep it.
class Scratch {
 public:
  explicit Scratch(fs::path path) : path_(std::move(path)) {}
  Scratch(const Scratch&) = delete;
  Scratch& operator=(const Scratch&) = delete;
  ~Scratch() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  [[nodiscard]] const fs::path& path() const { return path_; }

 private:
  fs::path path_;
};

Problem problem(const fs::path& archive, const char* code, std::string message,
                std::string hint = "") {
  return {archive.string(), 0, 0, code, std::move(message), std::move(hint), ""};
}

// A relative path of plain components; nothing that could leave the folder.
bool safe_name(std::string_view name) {
  if (name.empty() || name[0] == '/' || name.size() > 512) return false;
  const bool plain = std::ranges::all_of(
      name, [](char c) { return static_cast<unsigned char>(c) >= 0x20 && c != '\\' && c != ':'; });
  const std::vector<std::string_view> part = split(name, '/');
  return plain && std::ranges::none_of(part, [](std::string_view p) {
           return p.empty() || p == "." || p == ".." || p.size() > 200;
         });
}

Result<std::string> read_entry(zip_t* zip, zip_uint64_t index, const fs::path& archive,
                               std::size_t room) {
  const std::unique_ptr<zip_file_t, CloseFile> file(zip_fopen_index(zip, index, 0));
  if (!file)
    return problem(archive, "IMP-002", std::string("cannot be read: ") + zip_strerror(zip), kAgain);
  std::string bytes;
  std::array<char, 65536> chunk{};
  // The sizes an archive states are not believed: what comes out is counted.
  for (;;) {
    const zip_int64_t n = zip_fread(file.get(), chunk.data(), chunk.size());
    if (n < 0)
      return problem(archive, "IMP-002", "is damaged: an entry cannot be unpacked", kAgain);
    if (n == 0) return bytes;
    bytes.append(chunk.data(), static_cast<std::size_t>(n));
    if (bytes.size() > room) {
      return problem(archive, "IMP-004", "holds more than may be unpacked (256 MB)",
                     "unpack it by hand");
    }
  }
}

bool holds_the_same(const fs::path& folder, const ZipFiles& files) {
  std::error_code error;
  std::size_t found = 0;
  for (fs::recursive_directory_iterator it(folder, error), end; !error && it != end;
       it.increment(error)) {
    if (!it->is_regular_file(error)) continue;
    ++found;
    const auto known = files.find(it->path().lexically_relative(folder).generic_string());
    if (known == files.end()) return false;
    Result<std::string> bytes = read_whole_file(it->path());
    if (!bytes || *bytes != known->second) return false;
  }
  return !error && found == files.size();
}

}  // namespace

Result<ZipFiles> read_zip(const fs::path& archive, const ZipLimits& limits) {
  int code = 0;
  const std::unique_ptr<zip_t, Discard> zip(
      zip_open(archive.c_str(), ZIP_RDONLY | ZIP_CHECKCONS, &code));
  if (!zip)
    return problem(archive, "IMP-002", "is not a zip archive that can be read, or it is damaged",
                   kAgain);
  const zip_int64_t count = zip_get_num_entries(zip.get(), 0);
  if (count > static_cast<zip_int64_t>(limits.files)) {
    return problem(archive, "IMP-004", "holds more than 200 files", "unpack it by hand");
  }
  ZipFiles files;
  std::size_t total = 0;
  for (zip_int64_t i = 0; i < count; ++i) {
    const auto index = static_cast<zip_uint64_t>(i);
    const char* named = zip_get_name(zip.get(), index, 0);
    const std::string name = named == nullptr ? "" : named;
    if (!name.empty() && name.back() == '/' && safe_name(name.substr(0, name.size() - 1))) continue;
    if (!safe_name(name)) {
      return problem(archive, "IMP-003", "holds a file with an unsafe name: '" + shown(name) + "'",
                     "do not unpack it; ask where it comes from");
    }
    Result<std::string> bytes = read_entry(zip.get(), index, archive, limits.bytes - total);
    if (!bytes) return bytes.problem();
    total += bytes->size();
    if (!files.emplace(name, std::move(*bytes)).second) {
      return problem(archive, "IMP-003", "holds two files named '" + shown(name) + "'");
    }
  }
  return files;
}

Result<fs::path> unpack_zip(const fs::path& archive, const fs::path& work,
                            const ZipLimits& limits) {
  Result<ZipFiles> files = read_zip(archive, limits);
  if (!files) return files.problem();
  const fs::path target = work / archive.stem();
  std::error_code error;
  if (fs::exists(target, error)) {
    if (holds_the_same(target, *files)) return target;
    return problem(archive, "IMP-009",
                   "would be unpacked to " + target.string() + ", which holds other files",
                   "move that folder away");
  }
  const Scratch scratch(
      work / ("." + archive.stem().string() + "." + std::to_string(::getpid()) + ".part"));
  fs::create_directories(scratch.path(), error);
  for (const auto& [name, bytes] : *files) {
    const fs::path file = scratch.path() / name;
    if (!error) fs::create_directories(file.parent_path(), error);
    if (error) break;
    Result<Done> written = write_whole_file(file, bytes);
    if (!written) return written.problem();
  }
  if (!error) fs::rename(scratch.path(), target, error);
  if (error) return problem(target, "DSN-004", "cannot be created: " + error.message());
  return target;
}

}  // namespace isthmus::formats
