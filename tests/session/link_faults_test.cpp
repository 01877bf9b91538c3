// SPDX-License-Identifier: Apache-2.0
// Whole runs over a link that loses, doubles, garbles, delays, cuts and merges answers, and an
// adapter that starts anew in the middle of it, or gives its place to another. Oracle: the same run
// over a sound link, and the bench itself: what it says to each combination of switches.
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <random>

#include "tests/adapter/fake_adapter.hpp"
#include "tests/session/two_nets.hpp"

namespace isthmus::session {
namespace {

using diagnose::Verdict;
using test::FakeAdapter;
using test::FakeBench;
using test::net_of;
using test::PlanWriter;
using test::SeenStep;

struct Board {
  const char* name;
  double tide, ground, between;  // ohms
};
constexpr double kOpen = 9.9e37;
constexpr Board kBoards[]{{"sound", 0.05, 0.02, kOpen},
                          {"bridge", 0.05, 0.02, 700},
                          {"leak", 0.05, 0.02, 2e6},
                          {"open", kOpen, 0.02, kOpen}};

// Every pair of channels reads a little differently, so that a swapped answer shows.
std::pair<double, unsigned> reads(const Board& board, const SeenStep& s) {
  if (s.query == "CONT") return {s.closed.begin()->second == 5 ? 0 : 1, 0};
  if (s.query == "VOLT") return {0.001, 0};
  if (s.reference) return {s.reference == 1 ? 10.0 : 1e7, 0};
  double ohms = kOpen, mark = 0;
  for (const auto& [row, channel] : s.closed) {
    mark += 1e-4 * row * channel;
    for (const auto& [other_row, other] : s.closed) {
      if (row != 1 || other_row != 2) continue;
      ohms = std::min(ohms, net_of(channel) != net_of(other) ? board.between
                            : net_of(channel) == 0           ? board.tide
                                                             : board.ground);
    }
  }
  // The source drives 10 V at most: a reset adapter, at its 5 V, would tell leaks differently.
  if (s.query == "ISOL" && ohms < 1e30) ohms *= s.volts > 9 ? 1 : 3;
  return {ohms > 1e37 ? kOpen : ohms + mark, ohms > 1e37 ? 1u : 0u};
}

class Mischief {
 public:
  Mischief(FakeBench& bench, std::uint32_t seed) : bench_(bench), random_(seed) {
    bench_.bytes_per_read = 1 + random_() % 300;
    if (random_() % 4 == 0)
      bench_.stale = std::string(random_() % 40, 'x') + "1,(@1!1),+1.0,0,#H0\n";
    bench_.on_response = [this](std::size_t, std::string& r) { spoil(r); };
  }
  [[nodiscard]] std::size_t faults() const { return faults_; }

 private:
  void spoil(std::string& r) {
    std::string before = std::exchange(late_, "");
    if (random_() % 6 == 0) {
      ++faults_;
      const std::size_t at = random_() % r.size();
      switch (random_() % 10) {
        case 0:
          r.clear();
          break;
        case 1:
          r += r;
          break;
        case 2:
          r[at] = static_cast<char>(r[at] ^ (1 << random_() % 7));
          break;
        case 3:
          std::swap(late_, r);
          break;
        case 4:
          r.resize(at);
          break;  // runs into the next
        case 5:
          r.erase(at, 1 + random_() % 5);
          break;
        case 6:
          r.insert(at, 1, static_cast<char>(random_()));
          break;
        case 7:  // starts anew, with what it was saying lost
          bench_.now = {};
          r.clear();
          break;
        case 8:  // another adapter of the make is put in its place, once in a while
          if (random_() % 20 == 0) bench_.identity = "Harbour Bench,Mux-64,HB0043,1.0";
          bench_.now = {};
          r.clear();
          break;
        default:
          std::swap(r[at], r[random_() % r.size()]);
          break;
      }
    }
    r = before + r;
  }

  FakeBench& bench_;
  std::mt19937 random_;
  std::string late_;
  std::size_t faults_{};
};

class LinkFaults : public ::testing::TestWithParam<Board> {
 protected:
  void SetUp() override {
    const std::filesystem::path memory = "/dev/shm";
    dir_ =
        (std::filesystem::is_directory(memory) ? memory : std::filesystem::temp_directory_path()) /
        ("isthmus-faults-" + std::string(GetParam().name) + std::to_string(::getpid()));
    std::filesystem::create_directories(dir_);
    auto record = record::Record::open(dir_ / "bench.isthmus");
    ASSERT_TRUE(record);
    record_ = std::move(*record);
    hooks_.lay = [](const plan::Placement&, const auto&) { return Result<Done>(Done{}); };
  }
  void TearDown() override { std::filesystem::remove_all(dir_); }

  // Nothing when it could not even be opened.
  std::optional<Outcome> run(FakeBench& bench) {
    bench.capabilities.replace(bench.capabilities.find("4096"), 4, "1024");
    bench.measure = [](const SeenStep& s) { return reads(GetParam(), s); };
    auto instrument = adapter::Instrument::connect(std::make_unique<FakeAdapter>(bench));
    if (!instrument) return std::nullopt;
    auto out = run_test(board_, PlanWriter(2).plan(), **instrument, *record_, {}, hooks_);
    EXPECT_TRUE(out) << format(out.problem());
    return out ? std::optional(std::move(*out)) : std::nullopt;
  }

  std::filesystem::path dir_;
  expect::Board board_ = test::two_nets();
  Hooks hooks_;
  std::unique_ptr<record::Record> record_;
};

bool is_among(const diagnose::Finding& f, const std::vector<diagnose::Finding>& all) {
  return std::ranges::any_of(all, [&](const diagnose::Finding& a) { return a == f; });
}

TEST_P(LinkFaults, NeverPutAReadingOnAWrongStepOrMakeAWrongVerdict) {
  FakeBench quiet;
  const auto sound = run(quiet);
  ASSERT_TRUE(sound && !sound->link_failure);
  std::map<StepId, plan::Outcome> truth;
  for (const plan::Reading& r : sound->readings) truth.emplace(r.step, r.outcome);

  constexpr std::size_t kFaults = 2500;  // on each of four boards
  std::size_t faults = 0, whole = 0, refused = 0, broken = 0;
  for (std::uint32_t seed = 1; faults < kFaults; ++seed) {
    FakeBench bench;
    Mischief mischief(bench, seed);
    const auto out = run(bench);
    faults += mischief.faults();
    if (!out) {
      ++refused;
      continue;
    }
    for (const plan::Reading& r : out->readings) {
      const auto expected = truth.find(r.step);
      if (expected == truth.end()) continue;  // a step only this run wanted
      ASSERT_EQ(r.outcome, expected->second) << "seed " << seed << " step " << index(r.step);
    }
    for (const diagnose::Finding& f : out->result.diagnosis.findings)
      EXPECT_TRUE(is_among(f, sound->result.diagnosis.findings)) << "seed " << seed;
    ++(out->link_failure ? broken : whole);
    EXPECT_EQ(out->result.diagnosis.verdict,
              out->link_failure ? Verdict::incomplete : sound->result.diagnosis.verdict)
        << "seed " << seed;
  }
  EXPECT_GT(whole, 5 * (refused + broken) / 10) << "else little was tried";
  RecordProperty("runs", static_cast<int>(whole + refused + broken));
}
TEST_P(LinkFaults, AnAdapterPutInAnothersPlaceEndsTheRun) {
  for (const std::size_t after : {9U, 12U, 15U}) {
    FakeBench bench;
    bench.on_response = [&](std::size_t n, std::string&) {
      if (n == after) bench.identity = "Harbour Bench,Mux-64,HB0043,1.0";
    };
    const auto out = run(bench);
    ASSERT_TRUE(out);
    ASSERT_GT(bench.responses, after);
    ASSERT_TRUE(out->link_failure) << after;
    EXPECT_EQ(out->link_failure->code, "ADP-029");
    EXPECT_EQ(out->result.diagnosis.verdict, Verdict::incomplete);
  }
}
INSTANTIATE_TEST_SUITE_P(Boards, LinkFaults, ::testing::ValuesIn(kBoards),
                         [](const auto& tested) { return std::string(tested.param.name); });

}  // namespace
}  // namespace isthmus::session
