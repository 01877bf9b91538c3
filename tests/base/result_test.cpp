// SPDX-License-Identifier: Apache-2.0
#include "isthmus/base/result.hpp"

#include <gtest/gtest.h>

#include "isthmus/base/terms.hpp"

namespace isthmus {
namespace {

TEST(FormatProblem, ShowsPlaceLineCaretAndHint) {
  const Problem p{"a.gbr", 3, 5, "GBR-001", "bad word", "mend it", "G04Qx*"};
  EXPECT_EQ(format(p), "a.gbr:3:5: error GBR-001: bad word\n  G04Qx*\n      ^\n  hint: mend it");
}

TEST(FormatProblem, CutsALongLineAroundTheColumn) {
  Problem p{"a", 1, 5001, "X-1", "m", "", std::string(5000, 'a') + "Q" + std::string(5000, 'b')};
  const std::string text = format(p);
  EXPECT_LT(text.size(), 250u);
  const auto second = text.find("\n  ") + 3, third = text.find("\n  ", second) + 3;
  EXPECT_EQ(text[second + text.substr(third).find('^')], 'Q');
}

TEST(FormatProblem, LeavesOutWhatIsUnknown) {
  EXPECT_EQ(format({"", 0, 0, "", "no adapter", "", ""}, "warning"), "warning: no adapter");
}

TEST(Ensure, ThrowsOurBug) { EXPECT_THROW(ENSURE(1 == 2), OurBug); }

TEST(StageNames, ParseBack) {
  for (Stage s :
       {Stage::etched_top, Stage::etched_bottom, Stage::etched, Stage::joined, Stage::finished}) {
    EXPECT_EQ(parse_stage(name(s)), s);
  }
  EXPECT_FALSE(parse_stage("soldered"));
}

TEST(LayerNames, CountInnerLayersFromTheTop) {
  EXPECT_EQ(layer_name(LayerId{0}, 4), "top");
  EXPECT_EQ(layer_name(LayerId{1}, 4), "L2");
  EXPECT_EQ(layer_name(LayerId{3}, 4), "bottom");
}

}  // namespace
}  // namespace isthmus
