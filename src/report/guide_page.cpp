// SPDX-License-Identifier: Apache-2.0
#include "isthmus/report/guide_page.hpp"

#include <nlohmann/json.hpp>

#include "report/drawing.hpp"
#include "report/dumped.hpp"

namespace isthmus::report {
namespace {

using Json = nlohmann::ordered_json;

Json point_json(const expect::Point& p) {
  return {{"id", p.id},
          {"net", p.net},
          {"x_mm", to_mm(p.at.x)},
          {"y_mm", to_mm(p.at.y)},
          {"side", name(p.side)},
          {"size_mm", to_mm(p.size)},
          {"named", !p.via && !p.unlisted}};
}

}  // namespace

std::string guide_board_json(const expect::Board& board, const std::string& safety) {
  const Box area = drawn_area(board);
  Json layers = Json::array(), points = Json::array();
  for (std::size_t l = 0; l < board.copper.layers; ++l)
    layers.push_back(layer_name(LayerId{static_cast<std::uint16_t>(l)}, board.copper.layers));
  for (const expect::Point& p : board.expectation.points) points.push_back(point_json(p));
  return dumped(Json{
      {"board", board.design.board.name},
      {"stage", name(board.expectation.stage)},
      {"safety", safety},
      {"area_mm", {{to_mm(area.lo.x), to_mm(area.lo.y)}, {to_mm(area.hi.x), to_mm(area.hi.y)}}},
      {"layers", layers},
      {"shapes", shapes(board)},
      {"points", points}});
}

}  // namespace isthmus::report
