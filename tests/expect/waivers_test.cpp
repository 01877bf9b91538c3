// SPDX-License-Identifier: Apache-2.0
// Oracle: docs/formats/board.md, "A waiver leaves out", applied by hand to boards of a few
// rectangles.
#include <fmt/format.h>

#include "tests/expect/piece_board.hpp"

namespace isthmus::expect {
namespace {

using formats::WaiveEntry;
using formats::WaiveKind;
using test::holds;
using test::LittleBoard;
using Texts = std::vector<std::string>;

WaiveEntry join(double x, double y) {
  WaiveEntry w;
  w.kind = WaiveKind::join;
  w.at = position_mm(x, y);
  w.why = "a wire, soldered last";
  w.line = 7;
  w.column = 5;
  return w;
}
WaiveEntry copper(double x, double y, Side side) {
  WaiveEntry w = join(x, y);
  w.kind = WaiveKind::copper;
  w.side = side;
  return w;
}
WaiveEntry pair(const std::string& a, const std::string& b) {
  WaiveEntry w = join(0, 0);
  w.kind = WaiveKind::pair;
  w.nets = {a, b};
  return w;
}

class Waived {
 public:
  Waived(LittleBoard little, std::vector<WaiveEntry> waive) {
    little.design.board.waive = std::move(waive);
    board_ = test::whole(std::move(little));
    done_ = waive_entries(*board_, notes_);
  }
  // "kind x,y side" in whole millimetres, sorted.
  [[nodiscard]] Texts entries() const {
    Texts out;
    for (const PossibleFault& f : board_->faults.entries) {
      if (f.waived)
        out.push_back(fmt::format("{} {:.0f},{:.0f} {}", name(f.kind), to_mm(f.at.x), to_mm(f.at.y),
                                  name(f.side)));
    }
    std::ranges::sort(out);
    return out;
  }
  [[nodiscard]] std::size_t bridges() const {
    return static_cast<std::size_t>(std::ranges::count_if(
        board_->faults.entries,
        [](const PossibleFault& f) { return f.waived && !is_break(f.kind); }));
  }
  [[nodiscard]] std::string printed() const {
    std::string out;
    for (const Waiver& w : board_->expectation.waivers)
      out += fmt::format("{} | {} | {}\n", w.point, w.net, w.why);
    return out;
  }
  [[nodiscard]] std::string problem() const { return done_.ok() ? "" : format(done_.problem()); }
  // Shown without being asked for: not a note.
  [[nodiscard]] std::string warning() const {
    if (notes_.list().empty()) return "";
    const Diagnostic& d = notes_.list().front();
    return format(d.what, d.severity == Severity::warning ? "warning" : "note");
  }

 private:
  std::unique_ptr<Board> board_;
  Diagnostics notes_;
  Result<Done> done_{Done{}};
};

// A.1 on top, a track to the hole J.1, a track on the bottom to B.1.
LittleBoard two_sided(Stage stage = Stage::joined) {
  LittleBoard b;
  b.stage(stage);
  b.surface("N", "A", "1", 0, 0).surface("N", "B", "1", 20, 0, 2).through("N", "J", "1", 10, 0);
  return b.track(0, 0, 0, 10, 0, 0.2).track(1, 10, 0, 20, 0, 0.5);
}

TEST(Waivers, OfAJoinLeavesOutThatItIsMissing) {
  const Waived w(two_sided(), {join(10.1, 0)});
  EXPECT_EQ(w.problem(), "");
  EXPECT_EQ(w.entries(), (Texts{"join 10,0 both"}));
  EXPECT_EQ(w.printed(), "join @10.000,0.000 | N | a wire, soldered last\n");
}

// J.1 and J.2 lie on a ring of copper: top from one to the other, and back on the bottom.
LittleBoard ring_of_two_holes() {
  LittleBoard b;
  b.stage(Stage::joined);
  b.surface("N", "A", "1", 0, 0).through("N", "J", "1", 10, 0).through("N", "J", "2", 20, 0);
  return b.track(0, 0, 0, 20, 0, 0.3).track(1, 10, 0, 20, 0, 0.3);
}

TEST(Waivers, OfAJoinOnARingLeaveOutTheWaysToItsOwnRingAlone) {
  const Waived w(ring_of_two_holes(), {join(20, 0)});
  const Texts entries = w.entries();
  ASSERT_FALSE(entries.empty());
  EXPECT_EQ(entries.front(), "join 20,0 both");
  EXPECT_GT(entries.size(), 1u);
  for (std::size_t i = 1; i < entries.size(); ++i) EXPECT_TRUE(holds(entries[i], "ways 20,0"));
}

// Both holes lead into one area of 14 by 4 mm: losing both joins is no hole's own affair.
TEST(Waivers, OfAJoinIntoAPourDoNotLeaveOutThePour) {
  LittleBoard b = ring_of_two_holes();
  b.pad(1, 15, 0, 14, 4);
  const Waived both(b, {join(10, 0), join(20, 0)}), pour(b, {copper(15, 1, Side::bottom)});
  for (const std::string& entry : both.entries()) {
    EXPECT_TRUE(holds(entry, "10,0") || holds(entry, "20,0")) << entry;
    EXPECT_FALSE(holds(entry, "stretch")) << entry;
  }
  const Texts entries = pour.entries();
  ASSERT_FALSE(entries.empty());
  for (const std::string& entry : entries) {
    EXPECT_TRUE(holds(entry, "bottom")) << entry;
  }
}

TEST(Waivers, OfCopperLeaveOutItsBreaksUpToTheJoin) {
  const Waived below(two_sided(), {copper(15, 0.1, Side::bottom)});
  EXPECT_EQ(below.entries().size(), 1u);
  EXPECT_TRUE(holds(below.entries().at(0), "stretch 1"));
  EXPECT_EQ(below.printed(), "copper @15.000,0.100 bottom | N | a wire, soldered last\n");
  const Waived above(two_sided(), {copper(5, 0, Side::top)});
  EXPECT_EQ(above.entries().size(), 1u);
  EXPECT_NE(above.entries(), below.entries());
}

// A bar that no net's point lies on, between nets P and Q, which are 4 mm apart.
LittleBoard bar_between() {
  LittleBoard b;
  b.surface("P", "P", "1", 0, 0).surface("P", "P", "2", 10, 0).track(0, 0, 0, 10, 0, 0.3);
  b.surface("Q", "Q", "1", 0, 2).surface("Q", "Q", "2", 10, 2).track(0, 0, 2, 10, 2, 0.3);
  return b.track(0, 2, 1, 8, 1, 0.2);
}

TEST(Waivers, OfCopperWithoutANetLeaveOutItsBridgesToo) {
  const Waived bar(bar_between(), {copper(5, 1, Side::top)});
  EXPECT_EQ(bar.problem(), "");
  EXPECT_GE(bar.bridges(), 2u);  // to P and to Q
  const Waived track(bar_between(), {copper(5, 0, Side::top)});
  EXPECT_EQ(track.bridges(), 0u);
  EXPECT_EQ(track.entries().size(), 1u);
}

TEST(Waivers, OfAPairLeaveOutItsBridgesInEitherOrder) {
  const Waived pq(bar_between(), {pair("P", "Q")}), qp(bar_between(), {pair("Q", "P")});
  EXPECT_EQ(pq.problem(), "");
  EXPECT_GE(pq.bridges(), 1u);
  EXPECT_EQ(pq.entries(), qp.entries());
  EXPECT_EQ(pq.printed(), "pair P and Q | P, Q | a wire, soldered last\n");
  const Waived bar(bar_between(), {copper(5, 1, Side::top)});
  for (const std::string& entry : pq.entries()) EXPECT_TRUE(holds(entry, "bridge")) << entry;
  EXPECT_NE(pq.entries(), bar.entries());
}

TEST(Waivers, OfCopperWithoutANetGoByItsNumber) {
  // Islands are numbered by their left edge, then their lower: P, Q, the bar.
  const Waived w(bar_between(), {pair("P", "#2")});
  EXPECT_EQ(w.problem(), "");
  EXPECT_GE(w.bridges(), 1u);
}

TEST(Waivers, OfWhatIsNotThereAreRefusedAtTheirPlaceWithWhatIsNear) {
  const std::string at = "little.yaml:7:5: error EXP-002: waive names ";
  EXPECT_EQ(Waived(two_sided(), {join(10.5, 1)}).problem(),
            at + "a join at [10.500, 1.000], but no hole lies there\n"
                 "  hint: the nearest hole is at [10.000, 0.000]");
  EXPECT_EQ(Waived(two_sided(), {copper(15, 1, Side::bottom)}).problem(),
            at + "copper at [15.000, 1.000] on bottom, but none lies there\n"
                 "  hint: the nearest copper of the bottom side lies at [15.000, 0.250], 0.750 mm "
                 "away");
  EXPECT_EQ(Waived(bar_between(), {join(0, 0)}).problem(),
            at + "a join at [0.000, 0.000], but no hole lies there\n"
                 "  hint: the board has no holes");
  EXPECT_EQ(Waived(bar_between(), {copper(0, 0, Side::bottom)}).problem(),
            at + "copper at [0.000, 0.000] on bottom, but none lies there\n"
                 "  hint: the bottom side has no copper");
  LittleBoard named = bar_between();
  named.surface("SDA1", "U", "1", 30, 0);
  EXPECT_EQ(Waived(named, {pair("P", "SDA2")}).problem(),
            at + "the net SDA2, which the board does not have\n  hint: did you mean SDA1?");
}

TEST(Waivers, OfWhatIsNotThereYetAreWarnedOf) {
  const auto warning_of = [](LittleBoard b, const WaiveEntry& entry) {
    const Waived w(std::move(b), {entry});
    EXPECT_EQ(w.problem(), "");
    EXPECT_EQ(w.entries(), Texts{});
    EXPECT_EQ(w.printed(), "");
    return w.warning();
  };
  const std::string at = "little.yaml:7:5: warning EXP-022: waive names ";
  EXPECT_EQ(
      warning_of(two_sided(Stage::etched), join(10, 0)),
      at + "join @10.000,0.000, but it joins nothing at stage etched; nothing is waived by it");
  EXPECT_EQ(
      warning_of(two_sided(Stage::etched_top), copper(15, 0, Side::bottom)),
      at + "copper @15.000,0.000 bottom, but it is not etched yet at stage etched-top; nothing "
           "is waived by it");
  LittleBoard far = bar_between();
  far.surface("FAR", "U", "1", 30, 0);
  EXPECT_EQ(
      warning_of(far, pair("P", "FAR")),
      at + "pair P and FAR, but no facing of their copper within 1.27 mm has to be isolated at "
           "stage etched; nothing is waived by it");
}

}  // namespace
}  // namespace isthmus::expect
