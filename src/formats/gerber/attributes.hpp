// SPDX-License-Identifier: Apache-2.0
// X2 attributes: the dictionary of GLF 2023.08, chapter 5.
#pragma once

#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "formats/gerber/report.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::formats::gerber {

class AttributeDictionary {
 public:
  AttributeDictionary(LayerImage& image, Report& report) : image_(image), report_(report) {}

  // `command` starts with TF, TA, TO or TD and ends before '*'.
  bool apply(std::string_view command);

  [[nodiscard]] const std::string& aperture_function() const { return aperture_function_; }
  // Index of the object attributes in force together with an aperture's function.
  std::uint32_t index_for(const std::string& aperture_function);
  // Index of `inner` with what it leaves open taken from `outer`: a flash of a block.
  std::uint32_t merged(std::uint32_t inner, std::uint32_t outer);

 private:
  // 0 and a failure (GBR-062) once all sets together grow too large.
  std::uint32_t intern(const Attributes& attributes);
  void remove(std::string_view name);

  LayerImage& image_;
  Report& report_;
  Attributes object_;      // .N .P .C in force; aperture_function unused
  std::string component_;  // .C, when no .P speaks
  bool has_pin_{false};
  std::string aperture_function_;
  bool changed_{true};
  std::size_t last_command_{0}, bytes_{0};
  std::uint32_t last_{0};
  std::string last_function_;
  std::unordered_map<std::string, std::uint32_t> known_;
  std::unordered_map<std::uint64_t, std::uint32_t> merged_;
};

// Splits at commas and resolves \uXXXX and \UXXXXXXXX.
std::vector<std::string> attribute_fields(std::string_view text);
// The reverse for one field.
std::string escaped_field(std::string_view field);

}  // namespace isthmus::formats::gerber
