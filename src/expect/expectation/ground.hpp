// SPDX-License-Identifier: Apache-2.0
// What the steps of expect_board look things up in, and the small tools they share.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "isthmus/base/result.hpp"
#include "isthmus/base/sets.hpp"
#include "isthmus/copper/conductors.hpp"
#include "isthmus/expect/expectation.hpp"
#include "isthmus/formats/design.hpp"

namespace isthmus::expect {

// Borrowed for one call of expect_board.
struct Ground {
  const formats::Design& design;
  const copper::Copper& copper;
  const std::vector<copper::Gap>& gaps;
  const copper::IslandIndex& index;
  const copper::ConductorGraph* conductors{};  // where pours are to be found; may be nothing

  [[nodiscard]] Stage stage() const { return design.board.stage; }
  [[nodiscard]] std::size_t layers() const { return copper.layers; }
  [[nodiscard]] LayerId layer(std::size_t i) const { return static_cast<LayerId>(i); }
  [[nodiscard]] std::size_t last() const { return layers() - 1; }
  // Whether copper of this layer exists at the stage.
  [[nodiscard]] bool counts(std::size_t i) const { return is_etched(stage(), layer(i), layers()); }
};

// Digits compare by value: R2 before R10. Total: equal only for equal texts.
bool natural_less(std::string_view a, std::string_view b);

// Millimetres with three decimals, half away from zero, never "-0.000".
std::string text_mm(std::int64_t nm);
std::string place_name(Position p);  // "@1.000,2.000"

Problem problem(const formats::Design& design, const char* code, std::string message,
                std::string hint = {});
// At the waiver's place in the board file.
Problem problem(const formats::Design& design, const formats::WaiveEntry& entry, const char* code,
                std::string message, std::string hint = {});

}  // namespace isthmus::expect
