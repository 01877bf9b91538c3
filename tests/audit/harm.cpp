// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/harm.hpp"

#include <algorithm>
#include <map>

namespace isthmus::audit {
namespace {

// Pieces of copper as labels, and what leads soldered to cracked pads tie.
class Pieces {
 public:
  Label root(Label l) {
    auto it = parent_.find(l);
    while (it != parent_.end() && it->second != l) {
      l = it->second;
      it = parent_.find(l);
    }
    return l;
  }
  void tie(Label a, Label b) {
    a = root(a), b = root(b);
    if (a != b) parent_[std::max(a, b)] = std::min(a, b);
  }

 private:
  std::map<Label, Label> parent_;
};

void note(Harm& harm, Label l) {
  if (std::ranges::find(harm.conductors, l) == harm.conductors.end()) harm.conductors.push_back(l);
}

}  // namespace

Harm harm_of(const Faulty& faulty, const Places& places) {
  Harm harm;
  if (!faulty.changes_anything()) return harm;
  Pieces pieces;
  std::vector<std::pair<Label, Label>> found;  // conductor on the good board, label now
  std::vector<Label> labels;
  for (const Label conductor : faulty.touched()) {
    for (const std::uint32_t i : places.of_conductor[conductor]) {
      labels.clear();
      for (const Span& s : places.all[i].spans) faulty.labels_of(s, labels);
      for (std::size_t k = 1; k < labels.size(); ++k) pieces.tie(labels[0], labels[k]);
      if (!labels.empty()) found.push_back({conductor, labels[0]});
    }
  }
  for (auto& [conductor, label] : found) label = pieces.root(label);
  std::ranges::sort(found);
  found.erase(std::unique(found.begin(), found.end()), found.end());
  for (std::size_t i = 0; i < found.size(); ++i) {
    for (std::size_t j = i + 1; j < found.size(); ++j) {
      const auto& [a, la] = found[i];
      const auto& [b, lb] = found[j];
      if (a == b) harm.parted = true, note(harm, a);
      if (a != b && la == lb && !places.may_conduct(a, b))
        harm.bridged = true, note(harm, a), note(harm, b);
    }
  }
  return harm;
}

}  // namespace isthmus::audit
