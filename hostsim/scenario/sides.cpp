// SPDX-License-Identifier: Apache-2.0
#include "hostsim/scenario/sides.hpp"

namespace isthmus::hostsim {

std::vector<Side> sides_to_try(const formats::PlacementEntry& placement,
                               const formats::ProbeEntry& probe) {
  if (probe.side) return {*probe.side};
  switch (placement.side) {
    case Side::both:
      return {Side::top, Side::bottom};
    case Side::top:
      if (probe.clip) return {Side::bottom, Side::top};
      return {Side::top};
    case Side::bottom:
      if (probe.clip) return {Side::top, Side::bottom};
      return {Side::bottom};
  }
  return {};
}

Side touching_side(const formats::PlacementEntry& placement, const formats::ProbeEntry& probe,
                   Side pad) {
  const std::vector<Side> sides = sides_to_try(placement, probe);
  for (const Side side : sides) {
    if (pad == side) return side;
  }
  return sides.front();
}

}  // namespace isthmus::hostsim
