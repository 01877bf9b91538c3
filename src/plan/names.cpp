// SPDX-License-Identifier: Apache-2.0
#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

std::string_view name(StepKind k) {
  switch (k) {
    case StepKind::board_voltage:
      return "board-voltage";
    case StepKind::reference:
      return "reference";
    case StepKind::control_open:
      return "control-open";
    case StepKind::control_short:
      return "control-short";
    case StepKind::contact:
      return "contact";
    case StepKind::continuity:
      return "continuity";
    case StepKind::isolation:
      return "isolation";
    case StepKind::isolation_by_current:
      return "isolation-by-current";
    case StepKind::resistance:
      return "resistance";
  }
  return "";
}

}  // namespace isthmus::plan
