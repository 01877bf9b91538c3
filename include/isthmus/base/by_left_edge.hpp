// SPDX-License-Identifier: Apache-2.0
// Things with boxes, found by place.
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

#include "isthmus/base/geometry.hpp"

namespace isthmus {

// Shape   filled with add, then sorted once: each_over REQUIRES that nothing was added since.
// Cost    of each_over: what lies in the strip of the box, as wide as the widest thing besides.
template <class Thing>
class ByLeftEdge {
 public:
  void add(const Box& box, Thing thing) {
    widest_ = std::max(widest_, box.hi.x - box.lo.x);
    entries_.push_back({box, std::move(thing)});
  }
  void sort() {
    std::ranges::stable_sort(entries_, {}, [](const Entry& e) { return e.box.lo.x; });
  }
  // Calls `use` for each whose box overlaps, ascending by left edge, until it gives false. Touching
  // counts.
  template <class Use>
  void each_over(const Box& box, Use use) const {
    auto it = std::ranges::lower_bound(entries_, box.lo.x - widest_, {},
                                       [](const Entry& e) { return e.box.lo.x; });
    for (; it != entries_.end() && it->box.lo.x <= box.hi.x; ++it) {
      if (it->box.overlaps(box) && !use(it->thing)) return;
    }
  }

 private:
  struct Entry {
    Box box;
    Thing thing;
  };
  std::vector<Entry> entries_;
  std::int64_t widest_{};
};

}  // namespace isthmus
