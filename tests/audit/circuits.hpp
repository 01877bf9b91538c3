// SPDX-License-Identifier: Apache-2.0
// The steps of a plan wired to what lies under their contacts: which readings a fault changes,
// quickly.
#pragma once

#include "tests/audit/bench.hpp"

namespace isthmus::audit {

// REQUIRES: bench and raster outlive it.
class Circuits {
 public:
  Circuits(const Bench& bench, const plan::Plan& plan, const Faulty& good);

  // Indices into plan.steps whose outcome is not that of the good board; at most `most`.
  [[nodiscard]] std::vector<std::size_t> changed(const Faulty& board, std::size_t most);

 private:
  struct Wired {
    std::vector<std::uint32_t> from, to;  // contacts
    bool check{false};                    // the adapter's own contact check
    bool conducts{false};                 // on the good board
    std::size_t step{};
  };
  [[nodiscard]] bool conducts(const Wired& w, const std::vector<Label>& under);

  const Bench& bench_;
  std::vector<Wired> wired_;
  std::vector<std::uint32_t> mark_;
  std::uint32_t epoch_{0};
};

}  // namespace isthmus::audit
