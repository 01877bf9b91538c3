// SPDX-License-Identifier: Apache-2.0
// Oracle: docs/adapter.md. The fake adapter gives every step a value made from its tag and
// switches, so that an answer given to another step shows.
#include "isthmus/adapter/instrument.hpp"

#include <gtest/gtest.h>

#include <random>

#include "tests/adapter/fake_adapter.hpp"

namespace isthmus::adapter {
namespace {

using test::FakeAdapter;
using test::FakeBench;
using test::SeenStep;

double value_of(std::uint32_t tag, int first_channel) { return tag * 100.0 + first_channel; }

FakeBench telling_bench() {
  FakeBench bench;
  bench.measure = [](const SeenStep& s) {
    return std::pair{value_of(s.tag, s.closed.begin()->second), 0u};
  };
  return bench;
}

std::vector<Request> some_requests(std::size_t n) {
  std::vector<Request> out;
  for (std::size_t i = 0; i < n; ++i) {
    const int a = static_cast<int>(i % 32) + 1, b = 33 + static_cast<int>(i * 7 % 32);
    Request r;
    r.tag = static_cast<std::uint32_t>(i + 1);
    r.closed = {{1, a}, {2, b}};
    r.what = i % 3 == 2 ? Measure::isolation : Measure::resistance;
    r.volts = Volts{i % 2 ? 10.0 : 5.0};
    out.push_back(r);
  }
  return out;
}

struct Ran {
  Result<Done> result{Done{}};
  std::size_t arrived{};
  bool attribution_right{true};
};

Ran run(Instrument& instrument, const std::vector<Request>& requests) {
  Ran ran;
  ran.result = instrument.carry_out(requests, [&](std::size_t i, const Answer& a) {
    const bool right = i == ran.arrived && a.tag == requests[i].tag &&
                       a.value == value_of(a.tag, requests[i].closed.front().channel);
    ran.attribution_right = ran.attribution_right && right;
    ++ran.arrived;
  });
  return ran;
}

std::unique_ptr<Instrument> connected(FakeBench& bench) {
  auto instrument = Instrument::connect(std::make_unique<FakeAdapter>(bench));
  EXPECT_TRUE(instrument) << (instrument ? "" : format(instrument.problem()));
  return instrument ? std::move(*instrument) : nullptr;
}

TEST(Instrument, TellsWhoAnswers) {
  FakeBench bench;
  const auto instrument = connected(bench);
  EXPECT_EQ(instrument->identity().serial_number, "HB0042");
  EXPECT_EQ(instrument->capabilities().channels, 64);
}

TEST(Instrument, ForgetsWhatAnEarlierProgramLeftInTheLink) {
  FakeBench bench = telling_bench();
  bench.stale = "7,(@1!1,2!33),+1.0E+00,0,#H1234\nHarbour";
  const auto instrument = connected(bench);
  const Ran ran = run(*instrument, some_requests(10));
  EXPECT_TRUE(ran.result);
  EXPECT_EQ(ran.arrived, 10u);
  EXPECT_TRUE(ran.attribution_right);
}

TEST(Instrument, SaysThatNothingAnswers) {
  FakeBench bench;
  bench.mute = true;
  const auto instrument = Instrument::connect(std::make_unique<FakeAdapter>(bench));
  ASSERT_FALSE(instrument);
  EXPECT_EQ(format(instrument.problem()),
            "error ADP-020: nothing answers *IDN?\n  hint: is the adapter switched on, and is this "
            "its port?");
}

TEST(Instrument, BelievesWhatTwoAnswersAgreeOn) {
  FakeBench bench = telling_bench();
  // Of who it is: a wrong number, nothing, another wrong number; of what it can: a wrong digit.
  bench.on_response = [](std::size_t n, std::string& response) {
    if (n == 0) response.replace(response.find("HB0042"), 6, "HB0043");
    if (n == 1) response.clear();
    if (n == 2) response.replace(response.find("HB0042"), 6, "HB8042");
    const auto channels = response.find("CHANNELS 64");
    if (n == 5 && channels != std::string::npos) response[channels + 9] = '2';
  };
  const auto instrument = connected(bench);
  ASSERT_TRUE(instrument);
  EXPECT_EQ(instrument->identity().serial_number, "HB0042");
  EXPECT_EQ(instrument->capabilities().channels, 64);
}

TEST(Instrument, DoesNotBelieveAnAdapterThatIsAnotherEachTime) {
  FakeBench bench;
  bench.on_response = [](std::size_t n, std::string& response) {
    response.insert(0, std::to_string(n));
  };
  const auto instrument = Instrument::connect(std::make_unique<FakeAdapter>(bench));
  ASSERT_FALSE(instrument);
  EXPECT_EQ(instrument.problem().code, "ADP-021");
}

TEST(Instrument, SaysThatNonsenseAnswers) {
  FakeBench bench;
  bench.identity = "$GPGGA\x02";
  const auto instrument = Instrument::connect(std::make_unique<FakeAdapter>(bench));
  ASSERT_FALSE(instrument);
  EXPECT_EQ(format(instrument.problem()),
            "error ADP-021: what answers *IDN? is no adapter: \"$GPGGA\\x02\"\n  hint: is it "
            "another device? "
            "`isthmus adapters` lists what is plugged in");
  EXPECT_EQ(std::ranges::count(bench.messages, std::string("*RST;:ROUT:CLOS:STAT?")), 0)
      << "a stranger gets no commands";
}

TEST(Instrument, SaysThatAnotherContractIsSpoken) {
  FakeBench bench;
  bench.capabilities = "CONTRACT 2;CHANNELS 64";
  const auto instrument = Instrument::connect(std::make_unique<FakeAdapter>(bench));
  ASSERT_FALSE(instrument);
  EXPECT_EQ(instrument.problem().code, "ADP-023");
}

TEST(Instrument, OpensAllWhenItGoes) {
  FakeBench bench = telling_bench();
  {
    const auto instrument = connected(bench);
    run(*instrument, some_requests(1));
    EXPECT_FALSE(bench.now.closed.empty());
  }
  EXPECT_EQ(bench.messages.back(), "*RST;:ROUT:CLOS:STAT?");
  EXPECT_TRUE(bench.now.closed.empty());
}

TEST(CarryOut, SpeaksAsTheWorkedExchange) {
  FakeBench bench;
  const auto instrument = connected(bench);
  Request contact, ohms, isolation;
  contact.tag = 16;
  contact.closed = {{1, 5}};
  contact.what = Measure::contact;
  ohms.tag = 17;
  ohms.closed = {{1, 5}, {3, 5}, {2, 9}, {4, 9}};
  ohms.what = Measure::four_wire;
  isolation.tag = 18;
  isolation.closed = {{1, 1}, {1, 2}, {1, 3}, {2, 7}};
  isolation.what = Measure::isolation;
  bench.messages.clear();
  ASSERT_TRUE(
      instrument->carry_out(std::vector{contact, ohms, isolation}, [](auto, const Answer&) {}));
  EXPECT_EQ(
      bench.messages,
      std::vector<std::string>{
          ":SYST:TAG 16;:ROUT:CLOS (@1!5);:MEAS:CONT?;"
          ":SYST:TAG 17;:ROUT:CLOS (@1!5,2!9,3!5,4!9);:MEAS:FRES?;"
          ":SOUR:VOLT 5;:SOUR:VOLT?;:SYST:TAG 18;:ROUT:CLOS (@1!1:1!3,2!7);:MEAS:ISOL? 10000000"});
}

TEST(CarryOut, PacksManyRequestsIntoHalfTheBuffer) {
  FakeBench bench = telling_bench();
  const auto instrument = connected(bench);
  bench.messages.clear();
  const Ran ran = run(*instrument, some_requests(300));
  EXPECT_TRUE(ran.result);
  EXPECT_EQ(ran.arrived, 300u);
  EXPECT_LT(bench.messages.size(), 15u);
  for (const std::string& m : bench.messages) EXPECT_LE(m.size() + 1, 2048u);
}

TEST(CarryOut, SetsTheTestVoltageOnlyWhenItChanges) {
  FakeBench bench = telling_bench();
  const auto instrument = connected(bench);
  std::vector<Request> requests = some_requests(60);
  for (Request& r : requests) r.what = Measure::isolation, r.volts = Volts{10};
  bench.messages.clear();
  run(*instrument, requests);
  std::size_t settings = 0;
  for (const std::string& m : bench.messages)
    settings += m.find(":SOUR:VOLT 10;") != std::string::npos;
  EXPECT_EQ(settings, 1u);
  for (const SeenStep& s : bench.steps) EXPECT_EQ(s.volts, 10);
}

TEST(CarryOut, WantsTheVoltageConfirmed) {
  FakeBench bench = telling_bench();
  const auto instrument = connected(bench);
  bench.on_response = [](std::size_t, std::string& r) {  // the adapter understood another level
    if (const auto at = r.find("+1.000000E+01"); at == 0) r[1] = '2';
  };
  std::vector<Request> requests = some_requests(1);
  requests[0].what = Measure::isolation;
  requests[0].volts = Volts{10};
  const Ran ran = run(*instrument, requests);
  ASSERT_FALSE(ran.result);
  EXPECT_EQ(ran.result.problem().code, "ADP-025");
  EXPECT_EQ(ran.arrived, 0u);
}

TEST(CarryOut, SplitsARequestLongerThanTheBuffer) {
  FakeBench bench;
  bench.capabilities = "CONTRACT 1;CHANNELS 256;WIRES 2;BUFFER 1024";
  bench.measure = [](const SeenStep& s) {
    return std::pair{static_cast<double>(s.closed.size()), 0u};
  };
  const auto instrument = connected(bench);
  std::vector<Request> requests(3);
  for (std::uint32_t i = 0; i < 3; ++i) {
    requests[i].tag = i + 1;
    for (int c = 1; c <= 256; ++c) requests[i].closed.push_back({1 + c % 2, c});
    requests[i].what = Measure::isolation;
  }
  bench.messages.clear();
  std::vector<double> values;
  ASSERT_TRUE(
      instrument->carry_out(requests, [&](auto, const Answer& a) { values.push_back(a.value); }));
  EXPECT_EQ(values, (std::vector<double>{256, 256, 256}));
  for (const std::string& m : bench.messages) EXPECT_LE(m.size() + 1, 512u);
}

TEST(CarryOut, GivesUpAfterThreeTriesOfOneStep) {
  FakeBench bench = telling_bench();
  const auto instrument = connected(bench);
  bench.on_response = [](std::size_t, std::string& r) {
    if (const auto at = r.find("5,(@"); at != std::string::npos) r[at] = '6';
  };
  const Ran ran = run(*instrument, some_requests(8));
  ASSERT_FALSE(ran.result);
  EXPECT_EQ(ran.result.problem().code, "ADP-025");
  EXPECT_EQ(ran.arrived, 4u);
  EXPECT_TRUE(ran.attribution_right);
  EXPECT_EQ(std::ranges::count(bench.steps, 5u, &SeenStep::tag), 3);
}

TEST(CarryOut, SaysWhenTheAdapterFallsSilent) {
  FakeBench bench = telling_bench();
  const auto instrument = connected(bench);
  bench.on_response = [](std::size_t, std::string& r) { r.clear(); };
  const Ran ran = run(*instrument, some_requests(8));
  ASSERT_FALSE(ran.result);
  EXPECT_EQ(ran.result.problem().code, "ADP-022");
}

TEST(CarryOut, LimitsTheCurrentForDelicateTips) {
  FakeBench bench = telling_bench();
  const auto instrument = connected(bench);
  ASSERT_TRUE(instrument->limit_current(Amperes{0.02}));
  run(*instrument, some_requests(40));
  for (const SeenStep& s : bench.steps) EXPECT_EQ(s.amperes, 0.02);
  EXPECT_EQ(instrument->capabilities().source_a, 0.02);
}

// A fault on the link for each response message in turn: the run heals, or ends with a Problem; no
// answer is ever given to another request.
using Spoil = std::function<void(std::string& response, std::string& held)>;
const std::map<std::string, Spoil>& spoils() {
  static const std::map<std::string, Spoil> all{
      {"lost", [](std::string& r, std::string&) { r.clear(); }},
      {"doubled", [](std::string& r, std::string&) { r += r; }},
      {"late", [](std::string& r, std::string& held) { held = std::exchange(r, ""); }},
      {"merged", [](std::string& r, std::string&) { std::erase(r, ';'); }},
      {"without end", [](std::string& r, std::string&) { r.pop_back(); }},
      {"cut short", [](std::string& r, std::string&) { r = r.substr(0, r.size() / 2) + "\n"; }},
      {"one answer lost", [](std::string& r, std::string&) { r.erase(0, r.find(';') + 1); }},
      {"one answer doubled",
       [](std::string& r, std::string&) { r = r.substr(0, r.find(';') + 1) + r; }},
      {"after stale bytes", [](std::string& r, std::string&) { r = "3,(@1!3,2!47),+1." + r; }},
  };
  return all;
}

Ran run_spoiled(const Spoil& spoil, std::size_t at) {
  FakeBench bench = telling_bench();
  const auto instrument = connected(bench);
  const std::size_t first = bench.responses;
  std::string held;
  bench.on_response = [&, first](std::size_t n, std::string& r) {
    r = std::exchange(held, "") + r;
    if (n == first + at) spoil(r, held);
  };
  return run(*instrument, some_requests(120));
}

TEST(CarryOut, HealsEveryFaultOfEveryResponse) {
  for (const auto& [name, spoil] : spoils()) {
    for (std::size_t at = 0; at < 6; ++at) {
      const Ran ran = run_spoiled(spoil, at);
      EXPECT_TRUE(ran.result) << name << " at " << at;
      EXPECT_EQ(ran.arrived, 120u) << name << " at " << at;
      EXPECT_TRUE(ran.attribution_right) << name << " at " << at;
    }
  }
}

TEST(CarryOut, NeverMisattributesUnderRandomGarble) {
  for (unsigned seed = 1; seed <= 60; ++seed) {
    FakeBench bench = telling_bench();
    const auto instrument = connected(bench);
    std::mt19937 random(seed);
    bench.on_response = [&](std::size_t, std::string& r) {
      if (random() % 3 == 0) r[random() % r.size()] = static_cast<char>(random() % 128);
      if (random() % 11 == 0) r.erase(random() % r.size(), 1 + random() % 40);
    };
    const Ran ran = run(*instrument, some_requests(120));
    EXPECT_TRUE(ran.attribution_right) << "seed " << seed;
    EXPECT_TRUE(ran.arrived == 120 || !ran.result) << "seed " << seed;
    bench.on_response = nullptr;  // the goodbye
  }
}

TEST(CarryOut, ReadsAnswersInAnyPieces) {
  for (const std::size_t bytes : {1u, 2u, 7u, 64u}) {
    FakeBench bench = telling_bench();
    bench.bytes_per_read = bytes;
    const auto instrument = connected(bench);
    const Ran ran = run(*instrument, some_requests(50));
    EXPECT_TRUE(ran.result);
    EXPECT_EQ(ran.arrived, 50u);
  }
}

// The link goes at the N-th call, for every N of a short run.
template <class SetFault>
void fault_at_every_call(SetFault set_fault, std::size_t calls) {
  for (std::size_t n = 0; n <= calls; ++n) {
    FakeBench bench = telling_bench();
    bench.bytes_per_read = 40;
    set_fault(bench, n);
    auto instrument = Instrument::connect(std::make_unique<FakeAdapter>(bench));
    if (!instrument) {
      EXPECT_EQ(instrument.problem().code, "ADP-010");
      continue;
    }
    const Ran ran = run(**instrument, some_requests(30));
    EXPECT_TRUE(ran.attribution_right) << n;
    EXPECT_EQ(static_cast<bool>(ran.result), ran.arrived == 30) << n;
    EXPECT_TRUE(ran.result || ran.result.problem().code == "ADP-010") << n;
  }
}

std::pair<std::size_t, std::size_t> calls_of_a_short_run() {
  FakeBench bench = telling_bench();
  bench.bytes_per_read = 40;
  const auto instrument = connected(bench);
  EXPECT_EQ(run(*instrument, some_requests(30)).arrived, 30u);
  return {bench.reads, bench.writes};
}

TEST(CarryOut, SurvivesALinkGoneAtEveryRead) {
  fault_at_every_call([](FakeBench& b, std::size_t n) { b.gone_at_read = n; },
                      calls_of_a_short_run().first);
}

TEST(CarryOut, SurvivesALinkGoneAtEveryWrite) {
  fault_at_every_call([](FakeBench& b, std::size_t n) { b.gone_at_write = n; },
                      calls_of_a_short_run().second);
}

TEST(CarryOut, HealsWhenAnyRequestArrivesGarbled) {
  // The adapter measures with a switch of its own choice for one message: the list it tells gives
  // it away.
  FakeBench bench = telling_bench();
  const auto instrument = connected(bench);
  bool once = true;
  bench.measure = [&](const SeenStep& s) {
    if (s.tag == 11 && std::exchange(once, false)) bench.now.closed.insert({2, 64});
    return std::pair{value_of(s.tag, s.closed.begin()->second), 0u};
  };
  const Ran ran = run(*instrument, some_requests(30));
  EXPECT_TRUE(ran.result);
  EXPECT_TRUE(ran.attribution_right);
  EXPECT_EQ(std::ranges::count(bench.steps, 11u, &SeenStep::tag), 2);
}

TEST(Instrument, LaysASimulatedBoardByName) {
  FakeBench bench;
  bench.capabilities += ";SIMULATED 1";
  bench.hashes = "aa,bb";
  const auto instrument = connected(bench);
  ASSERT_TRUE(instrument->lay_simulated("A \"left\""));
  EXPECT_EQ(bench.laid, std::vector<std::string>{"\"A \"\"left\"\"\""});
  EXPECT_EQ(*instrument->simulated_hashes(), (std::vector<std::string>{"aa", "bb"}));
  bench.lay_answer = "-222,\"Data out of range;no placement of that name\"";
  const auto refused = instrument->lay_simulated("Z");
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.problem().code, "ADP-026");
}

TEST(Instrument, LiftsTheTipsOfASimulator) {
  FakeBench bench;
  bench.capabilities += ";SIMULATED 1";
  const auto instrument = connected(bench);
  EXPECT_TRUE(*instrument->lift_simulated());
  EXPECT_EQ(bench.laid, std::vector<std::string>{"\"\""});
  bench.lay_answer = "-222,\"Data out of range\"";
  EXPECT_FALSE(*instrument->lift_simulated()) << "it cannot";
}

TEST(Instrument, SaysWhichSwitchesDoNotOpen) {
  FakeBench bench;
  const auto instrument = connected(bench);
  bench.on_response = [](std::size_t, std::string& r) {
    if (r == "(@)\n") r = "(@1!5)\n";
  };
  const auto opened = instrument->open_all();
  ASSERT_FALSE(opened);
  EXPECT_EQ(opened.problem().code, "ADP-027");
  EXPECT_EQ(opened.problem().message, "switches do not open: (@1!5)");
}

TEST(Instrument, PassesTheSelfTestOn) {
  FakeBench bench;
  const auto instrument = connected(bench);
  EXPECT_EQ(*instrument->self_test(), 0);
  EXPECT_TRUE(instrument->errors()->empty());
}

// The first answer is lost; what an earlier program asked for arrives just before our echo. Nothing
// that came before the echo, nor the echo itself, may be taken for the self-test's answer.
TEST(Instrument, TakesNoLateAnswerForTheSelfTests) {
  FakeBench bench;
  const auto instrument = connected(bench);
  bench.bytes_per_read = 1;
  bench.on_response = [n = 0](std::size_t, std::string& r) mutable {
    if (n == 0) r.clear();
    if (n == 1) r = "5\n" + r;
    ++n;
  };
  EXPECT_EQ(*instrument->self_test(), 0);
}

TEST(CarryOut, RefusesAnswersThatDoNotEndAsTheQueriesDo) {
  FakeBench bench = telling_bench();
  const auto instrument = connected(bench);
  bench.on_response = [](std::size_t, std::string& r) { std::ranges::replace(r, ';', '\n'); };
  const Ran ran = run(*instrument, some_requests(5));
  ASSERT_FALSE(ran.result);
  EXPECT_EQ(ran.result.problem().code, "ADP-025");
  EXPECT_EQ(ran.arrived, 0u);
}

TEST(Instrument, RefusesToReuseATag) {
  FakeBench bench = telling_bench();
  const auto instrument = connected(bench);
  run(*instrument, some_requests(3));
  EXPECT_THROW(run(*instrument, some_requests(1)), OurBug);
}

}  // namespace
}  // namespace isthmus::adapter
