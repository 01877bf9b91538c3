// SPDX-License-Identifier: Apache-2.0
// What the person reads, and how it comes in.
#include "hostsim/hand/event.hpp"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <fstream>

#include "hostsim/hand/event_input.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::hostsim {
namespace {

TEST(ReadEvent, TakesTheTouchApart) {
  const auto e = read_event(
      R"({"n":7,"event":"touch","touch":3,"left":9,"needle":1,"channel":4,"fork":5,"point":"R4.1",)"
      R"("net":"N1","side":"bottom","x_mm":1.25,"y_mm":-2,"where":"left","again":true,)"
      R"("why":"beside","turn_over":true,"likelihood":0.5})");
  ASSERT_TRUE(e);
  EXPECT_EQ(e->touch.touch, 3);
  EXPECT_EQ(e->touch.needle, 1u);
  EXPECT_EQ(e->touch.tips.channel, 4);
  EXPECT_EQ(e->touch.tips.fork, 5);
  EXPECT_EQ(e->touch.at, position_mm(1.25, -2));
  EXPECT_EQ(e->touch.side, Side::bottom);
  EXPECT_EQ(e->touch.why, "beside");
  EXPECT_TRUE(e->touch.turn_over);
}

TEST(ReadEvent, RefusesWhatIsNoEvent) {
  for (const char* line : {"", "hello", "[]", "{}", R"({"event":7})", R"({"event":"touch"})",
                           R"({"event":"clips","clips":[{"channel":1}]})", R"({"event":"clip"})"}) {
    EXPECT_FALSE(read_event(line)) << line;
  }
}

TEST(ReadEvent, KeepsEventsNobodyActsOn) {
  EXPECT_EQ(read_event(R"({"event":"coverage","likelihood":0.4})")->kind, "coverage");
}

TEST(EventInput, GivesWholeLinesOfAFileThatGrows) {
  const test::TempDir folder;
  const auto file = folder.write("events", "one\ntw");
  auto input = EventInput::open(file.string()).value();
  EXPECT_EQ(input.take(), std::vector<std::string>{"one"});
  EXPECT_TRUE(input.take().empty());
  std::ofstream(file, std::ios::app) << "o\nthree\n";
  EXPECT_EQ(input.take(), (std::vector<std::string>{"two", "three"}));
}

TEST(EventInput, OfAFifoNeverWaits) {
  const test::TempDir folder;
  const std::string fifo = (folder.path() / "fifo").string();
  ASSERT_EQ(mkfifo(fifo.c_str(), 0600), 0);
  auto input = EventInput::open(fifo).value();
  EXPECT_TRUE(input.take().empty());
  std::ofstream(fifo) << "one\n" << std::flush;
  EXPECT_EQ(input.take(), std::vector<std::string>{"one"});
}

TEST(EventInput, NamesTheFileItCannotRead) {
  const auto input = EventInput::open("/nonexistent/events");
  ASSERT_FALSE(input);
  EXPECT_EQ(input.problem().code, "SIM-050");
}

}  // namespace
}  // namespace isthmus::hostsim
