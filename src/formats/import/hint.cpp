// SPDX-License-Identifier: Apache-2.0
#include "formats/import/hint.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "formats/registration/fit.hpp"
#include "isthmus/formats/design.hpp"
#include "isthmus/formats/gerber.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

constexpr std::size_t kShown = 8;

std::vector<FitPoint> holes_of(const std::vector<Recognised>& files) {
  std::vector<FitPoint> out;
  for (const Recognised& f : files) {
    if (f.role != FileRole::drill) continue;
    Diagnostics ignored;
    const Result<std::string> bytes = read_whole_file(f.file);
    if (!bytes) continue;
    const Result<DrillFile> drill = read_drill(*bytes, f.file.string(), ignored);
    if (!drill) continue;
    for (const Hole& h : drill->holes) out.push_back({h.from, kAnywhere, ""});
  }
  return out;
}

struct Candidate {
  std::string file;
  std::size_t tracks{}, pads{}, holes{};
  std::string problem;
};

Candidate look_at(const std::filesystem::path& file, const std::vector<FitPoint>& holes) {
  Candidate c;
  c.file = shown(file.filename().string());
  Diagnostics ignored;
  const Result<std::string> bytes = read_whole_file(file);
  if (!bytes) {
    c.problem = bytes.problem().message;
    return c;
  }
  const Result<LayerImage> image = read_gerber(*bytes, file.string(), ignored);
  if (!image) {
    c.problem = image.problem().message;
    return c;
  }
  for (const Object& o : image->objects) {
    c.tracks += o.dark && o.kind == ObjectKind::stroke ? 1u : 0u;
    c.pads += o.dark && o.kind == ObjectKind::flash ? 1u : 0u;
  }
  const std::vector<FitPlace> places = places_of(*image, kOnTop, true);
  c.holes = places.empty() ? 0 : landed(holes, places, Frame());
  return c;
}

std::string described(const Candidate& c, std::size_t holes) {
  if (!c.problem.empty()) return fmt::format("    {}: {}\n", c.file, c.problem);
  const std::string hit =
      holes == 0 ? "" : fmt::format(", holes in its pads {} of {}", c.holes, holes);
  return fmt::format("    {}: strokes {}, pads {}{}\n", c.file, c.tracks, c.pads, hit);
}

// Copper has tracks, and a pad around each hole; an outline has no pads, a mask no tracks.
bool more_like_copper(const Candidate& a, const Candidate& b) {
  const auto worth = [](const Candidate& c) {
    return std::pair(c.holes, c.pads > 0 ? c.tracks : 0);
  };
  return worth(a) > worth(b);
}

}  // namespace

Problem no_copper(const std::vector<Recognised>& files) {
  Problem p{"", 0, 0, "IMP-006", "no copper layer was found among the files", "", ""};
  std::vector<const Recognised*> silent;
  for (const Recognised& f : files) {
    if (f.gerber && f.role == FileRole::other && !f.other_known) silent.push_back(&f);
  }
  p.hint = "name the layers in a board.yaml by hand: docs/formats/board.md";
  if (silent.empty()) return p;
  const std::vector<FitPoint> holes = holes_of(files);
  std::vector<Candidate> candidates;
  for (std::size_t i = 0; i < silent.size() && i < kShown; ++i) {
    candidates.push_back(look_at(silent[i]->file, holes));
  }
  std::ranges::stable_sort(candidates, more_like_copper);
  p.hint += fmt::format("\n  {} Gerber file{} nothing of the layer:\n", silent.size(),
                        silent.size() == 1 ? " says" : "s say");
  for (const Candidate& c : candidates) p.hint += described(c, holes.size());
  if (silent.size() > kShown) p.hint += fmt::format("    and {} more\n", silent.size() - kShown);
  p.hint += "  the lines, if the first is the top" +
            std::string(candidates.size() > 1 ? " and the second the bottom" : "") + ":\n";
  p.hint += "    artwork: {top: " + candidates[0].file +
            (candidates.size() > 1 ? ", bottom: " + candidates[1].file : "") + "}";
  return p;
}

std::optional<LikeCopper> like_copper(const std::vector<Recognised>& files) {
  constexpr std::size_t kFewest = 4;  // fewer holes lie in anything
  std::optional<std::vector<FitPoint>> holes;
  for (const Recognised& f : files) {
    if (!f.gerber || f.role != FileRole::other || f.other_known || f.by_content) continue;
    if (!holes) holes = holes_of(files);
    if (holes->size() < kFewest) return std::nullopt;
    const Candidate c = look_at(f.file, *holes);
    if (c.tracks > 0 && c.pads > 0 && 10 * c.holes >= 9 * holes->size()) {
      return LikeCopper{&f, c.tracks, c.pads, c.holes, holes->size()};
    }
  }
  return std::nullopt;
}

}  // namespace isthmus::formats
