// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::formats {

std::optional<std::vector<std::string>> LayerImage::file_attribute(const std::string& name) const {
  for (const std::vector<std::string>& attribute : file_attributes) {
    if (!attribute.empty() && attribute.front() == name) {
      return std::vector<std::string>(attribute.begin() + 1, attribute.end());
    }
  }
  return std::nullopt;
}

}  // namespace isthmus::formats
