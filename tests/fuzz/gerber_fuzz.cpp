// SPDX-License-Identifier: Apache-2.0
// Gerber: what is read lies within bounds, and what our writer makes of it is read again.
#include "isthmus/formats/gerber.hpp"
#include "tests/fuzz/fuzz.hpp"

using namespace isthmus;
using namespace isthmus::fuzz;

namespace {

constexpr std::int64_t kFar = std::int64_t{1} << 31;  // coordinates stay where products fit

std::size_t check_contour(const Contour& contour) {
  for (const Position p : contour) {
    demand(p.x > -kFar && p.x < kFar && p.y > -kFar && p.y < kFar, "a vertex is within bounds");
  }
  return contour.size();
}

std::size_t check_image(const formats::LayerImage& image) {
  std::size_t vertices = 0;
  for (const formats::Object& o : image.objects) {
    demand(o.attributes < image.attributes.size(), "attributes are there");
    for (const Polygon& polygon : o.shape) {
      vertices += check_contour(polygon.outer);
      for (const Contour& hole : polygon.holes) vertices += check_contour(hole);
    }
  }
  return vertices;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes = text_of(data, size);
  Diagnostics notes;
  const auto image = formats::read_gerber(bytes, "layer.gbr", notes);
  demand_told(notes, bytes);
  if (!image) {
    demand_told(image.problem(), bytes);
    return 0;
  }
  if (check_image(*image) > 5000) return 0;  // the way back would only cost time
  const std::string written = formats::write_gerber(*image);
  Diagnostics again;
  const auto back = formats::read_gerber(written, "again.gbr", again);
  if (!back) std::fprintf(stderr, "%s\n", format(back.problem()).c_str());
  demand(back.ok(), "what the writer writes is read");
  return 0;
}
