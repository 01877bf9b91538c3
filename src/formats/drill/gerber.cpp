// SPDX-License-Identifier: Apache-2.0
// GLF 2023.08, 6.6: in a Gerber drill layer a flash is a hole, a draw a slot, the aperture the
// finished size.
#include "isthmus/formats/gerber.hpp"

#include "formats/drill/body.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

Problem refused(std::string_view bytes, const std::string& file, std::int32_t line,
                const char* code, std::string message) {
  const std::vector<std::string_view> lines = split_lines(bytes);
  const auto index = static_cast<std::size_t>(line - 1);
  return {file,
          line,
          1,
          code,
          std::move(message),
          "name a drill layer here",
          index < lines.size() ? std::string(lines[index]) : ""};
}

// The line that says what the layer is.
std::int32_t line_of_function(std::string_view bytes) {
  const std::vector<std::string_view> lines = split_lines(bytes);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (contains(lines[i], "TF.FileFunction")) return static_cast<std::int32_t>(i) + 1;
  }
  return 1;
}

}  // namespace

Result<std::vector<Hole>> read_gerber_drill(std::string_view bytes, const std::string& file,
                                            Diagnostics& notes) {
  Result<LayerImage> image = read_gerber(bytes, file, notes);
  if (!image) return image.problem();
  Hole pattern;
  if (const auto function = image->file_attribute(".FileFunction");
      function && !function->empty()) {
    if ((*function)[0] == "Plated") pattern.plated = true;
    if ((*function)[0] == "NonPlated") pattern.plated = false;
    if (!pattern.plated) {
      return refused(bytes, file, line_of_function(bytes), "DRL-021",
                     "the file says it is a layer of " + shown((*function)[0]) + ", not of holes");
    }
    if (function->size() > 2) {
      const auto from = to_int((*function)[1]), to = to_int((*function)[2]);
      if (from && to && *from >= 1 && *from < *to) {
        pattern.span = {static_cast<int>(*from), static_cast<int>(*to)};
      }
    }
  }
  std::vector<Hole> holes;
  std::int32_t slots = 0;
  for (const Object& o : image->objects) {
    if (o.shape.empty()) continue;
    if (!o.dark || !o.round || o.kind == ObjectKind::region || o.spine.empty()) {
      return refused(bytes, file, o.line, "DRL-020",
                     "a drill layer holds round flashes and draws with a round pen only");
    }
    if (o.width.value > kMaxDiameter)
      return refused(bytes, file, o.line, "DRL-008", "a hole of over 100 mm");
    Hole hole = pattern;
    hole.diameter = o.width;
    hole.line = o.line;
    hole.from = hole.to = o.spine[0];
    if (o.kind == ObjectKind::flash || o.spine.size() == 1) {
      holes.push_back(hole);
      continue;
    }
    hole.slot = slots++;
    for (std::size_t i = 1; i < o.spine.size(); ++i) {
      hole.from = o.spine[i - 1];
      hole.to = o.spine[i];
      holes.push_back(hole);
    }
  }
  return holes;
}

}  // namespace isthmus::formats
