// SPDX-License-Identifier: Apache-2.0
// A small document of our own (tide gauge). Oracle: IPC-2581 revisions B and C as read in public
// files; attribute words by the standard's schema (MICRON and INCH from memory).
#include "isthmus/formats/ipc_2581.hpp"

#include <gtest/gtest.h>

#include <fstream>

#include "isthmus/formats/design.hpp"
#include "isthmus/formats/recognise.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

constexpr const char* kLayers =
    R"(<Layer name="SPAN" layerFunction="DRILL" side="ALL"><Span fromLayer="TOP" toLayer="BOT"/></Layer>
<Layer name="BOT" layerFunction="SIGNAL" side="BOTTOM"/>
<Layer name="IN1" layerFunction="PLANE" side="INTERNAL"/>
<Layer name="TOP" layerFunction="CONDUCTOR" side="TOP"/>
<Layer name="MASK" layerFunction="SOLDERMASK" side="TOP"/>)";

constexpr const char* kNets = R"(<LogicalNet name="TIDE_IN"><PinRef componentRef="J1" pin="1"/>
<PinRef componentRef="U1" pin="4"/></LogicalNet>)";

constexpr const char* kPads = R"(<LayerFeature layerRef="TOP"><Set net="TIDE_IN">
<Pad><Location x="1.5" y="-2"/><StandardPrimitiveRef id="SQ"/><PinRef componentRef="J1" pin="1"/></Pad>
<Pad><Location x="4" y="2"/><PinRef componentRef="U1" pin="4"/></Pad></Set></LayerFeature>
<LayerFeature layerRef="BOT"><Set net="TIDE_IN">
<Pad><Location x="1.5" y="-2"/><PinRef componentRef="J1" pin="1"/></Pad></Set></LayerFeature>)";

constexpr const char* kPoints = R"(<PhyNetGroup name="G"><PhyNet name="TIDE_IN">
<PhyNetPoint x="1.5" y="-2" layerRef="TOP" secondaryLayerRef="BOT" netNode="END" exposure="EXPOSED" via="false"><Circle diameter="1.6"/></PhyNetPoint>
<PhyNetPoint x="3" y="0" layerRef="SPAN" netNode="MIDDLE" exposure="COVERED_PRIMARY" via="true"/>
<PhyNetPoint x="4" y="2" layerRef="TOP" netNode="END" exposure="EXPOSED"><Xform rotation="90"/><StandardPrimitiveRef id="SQ"/></PhyNetPoint>
<PhyNetPoint x="5" y="2" layerRef="TOP" secondaryLayerRef="IN1" netNode="END" exposure="COVERED" via="true"/>
<PhyNetPoint x="6" y="2" layerRef="BOT" netNode="END" exposure="COVERED_SECONDARY"/>
</PhyNet></PhyNetGroup>)";

std::string document(const std::string& step, const std::string& units = "MILLIMETER",
                     const std::string& layers = kLayers) {
  return R"(<?xml version="1.0" encoding="UTF-8"?>
<IPC-2581 revision="C" xmlns="http://webstds.ipc.org/2581"><Content roleRef="Owner">
<DictionaryStandard units="INCH"><EntryStandard id="SQ"><RectCenter width="0.1" height="0.05"/></EntryStandard></DictionaryStandard></Content>
<Ecad name="tide"><CadHeader units=")" +
         units + "\"/><CadData>" + layers + "\n<Step name=\"tide-gauge\">\n" + step +
         "\n</Step></CadData></Ecad></IPC-2581>\n";
}

struct Read {
  Netlist netlist;
  std::vector<std::string> codes;
};
Read read(const std::string& text) {
  Diagnostics notes;
  auto netlist = read_ipc_2581(text, "tide.xml", notes);
  EXPECT_TRUE(netlist.ok()) << format(netlist.problem());
  Read all;
  for (const Diagnostic& d : notes.list()) all.codes.push_back(d.what.code);
  if (netlist.ok()) all.netlist = std::move(*netlist);
  return all;
}

Problem problem_of(const std::string& text) {
  Diagnostics notes;
  const auto netlist = read_ipc_2581(text, "tide.xml", notes);
  EXPECT_FALSE(netlist.ok());
  return netlist.ok() ? Problem{} : netlist.problem();
}

TEST(Ipc2581, ReadsTestPointsWithSidesSizesAndExposure) {
  const Read all = read(document(std::string(kNets) + kPads + kPoints));
  EXPECT_TRUE(all.codes.empty());
  const auto& r = all.netlist.records;
  ASSERT_EQ(r.size(), 5U);
  EXPECT_EQ(all.netlist.bottom_access, 3);
  EXPECT_EQ(r[0].kind, FeatureKind::through_hole);
  EXPECT_EQ(r[0].ref + "." + r[0].pin, "J1.1");
  EXPECT_EQ(r[0].at, position_mm(1.5, -2));
  EXPECT_EQ(r[0].size_x, from_mm(1.6));
  EXPECT_EQ(r[0].mask, 0);
  EXPECT_FALSE(r[0].mid_net);
  EXPECT_EQ(r[1].kind, FeatureKind::through_hole);
  EXPECT_EQ(r[1].ref, "VIA");
  EXPECT_TRUE(r[1].mid_net);
  EXPECT_EQ(r[1].mask, 1);
  EXPECT_EQ(r[2].ref + "." + r[2].pin, "U1.4");
  EXPECT_EQ(r[2].access, 1);
  EXPECT_EQ(r[2].size_x, from_mm(2.54));
  EXPECT_EQ(r[2].size_y, from_mm(1.27));
  EXPECT_EQ(r[2].rotation_deg, 90);
  EXPECT_EQ(r[3].kind, FeatureKind::blind_via);
  EXPECT_EQ(r[3].span, std::pair(1, 2));
  EXPECT_EQ(r[4].access, 3);
  EXPECT_EQ(r[4].mask, 2);
  for (const NetlistRecord& each : r) EXPECT_EQ(each.net, "TIDE_IN");
  EXPECT_EQ(r[0].line, 16);
}

TEST(Ipc2581, TakesPadsWithPinsWhereThereAreNoTestPoints) {
  const Read all = read(document(std::string(kNets) + kPads));
  const auto& r = all.netlist.records;
  ASSERT_EQ(r.size(), 2U);
  EXPECT_EQ(r[0].kind, FeatureKind::through_hole);  // a pad on both sides
  EXPECT_EQ(r[0].ref + "." + r[0].pin, "J1.1");
  EXPECT_EQ(r[0].net, "TIDE_IN");
  EXPECT_EQ(r[1].kind, FeatureKind::surface);
}

TEST(Ipc2581, KnowsItsThreeUnits) {
  const std::string point =
      R"(<PhyNet name="A"><PhyNetPoint x="1000" y="1" layerRef="TOP"/></PhyNet>)";
  EXPECT_EQ(read(document(point, "MICRON")).netlist.records.at(0).at, (Position{1'000'000, 1000}));
  EXPECT_EQ(read(document(point, "MILLIMETER")).netlist.records.at(0).at,
            (Position{1'000'000'000, 1'000'000}));
  EXPECT_EQ(problem_of(document(point, "INCH")).code, "I81-010");
  EXPECT_EQ(problem_of(document(point, "FURLONG")).code, "I81-005");
}

TEST(Ipc2581, OrdersLayersBySequence) {
  const std::string layers = std::string(kLayers) +
                             R"(<Layer name="IN2" layerFunction="SIGNAL" side="INTERNAL"/>
<Stackup><StackupGroup><StackupLayer layerOrGroupRef="IN2" sequence="2"/>
<StackupLayer layerOrGroupRef="IN1" sequence="4"/></StackupGroup></Stackup>)";
  const Read all =
      read(document(R"(<PhyNet name="A"><PhyNetPoint x="1" y="1" layerRef="IN2"/></PhyNet>)",
                    "MILLIMETER", layers));
  EXPECT_EQ(all.netlist.records.at(0).access, 2);
  EXPECT_EQ(all.netlist.bottom_access, 4);
}

TEST(Ipc2581, SaysWhichPinsHaveNoPlace) {
  const Read all =
      read(document(std::string(kNets) +
                    R"(<PhyNet name="B"><PhyNetPoint x="1" y="1" layerRef="TOP"/></PhyNet>)"));
  EXPECT_EQ(all.codes, std::vector<std::string>{"I81-020"});
}

struct Bad {
  const char* name;
  std::string text;
  const char* code;
  int line;
};
class BadIpc2581 : public ::testing::TestWithParam<Bad> {};
TEST_P(BadIpc2581, IsRefusedAtItsPlace) {
  const Problem p = problem_of(GetParam().text);
  EXPECT_EQ(p.code, GetParam().code) << format(p);
  EXPECT_EQ(p.line, GetParam().line) << format(p);
}
std::string point(const std::string& attributes) {
  return "<PhyNet name=\"A\"><PhyNetPoint " + attributes + "/></PhyNet>";
}
std::string cut_short() {
  const std::string whole = document(point("x=\"1\" y=\"1\" layerRef=\"TOP\""));
  return whole.substr(0, whole.find("layerRef=\"TOP"));
}
std::string with_doctype() {
  // Each entity ten times the one before: nothing of it may ever be expanded.
  return "<?xml version=\"1.0\"?>\n<!DOCTYPE t [<!ENTITY a \"tide\"><!ENTITY b \"&a;&a;&a;\">]>\n"
         "<IPC-2581>&b;</IPC-2581>";
}
std::string deep() {
  std::string text = "<IPC-2581>";
  for (int i = 0; i < 100'000; ++i) text += "<a>";
  for (int i = 0; i < 100'000; ++i) text += "</a>";
  return text + "</IPC-2581>";
}
INSTANTIATE_TEST_SUITE_P(
    Documents, BadIpc2581,
    ::testing::Values(
        Bad{"CutShort", cut_short(), "I81-001", 10},
        Bad{"WithADocumentType", with_doctype(), "I81-003", 2},
        Bad{"Binary", "<IPC-2581>" + std::string(1, '\0'), "I81-002", 0},
        Bad{"AnotherDocument", "<svg/>", "I81-004", 1},
        Bad{"WithALayerTwice",
            document("", "MILLIMETER", "<Layer name=\"A\"/>\n<Layer name=\"A\"/>"), "I81-006", 5},
        Bad{"WithAnUnknownLayer", document(point("x=\"1\" y=\"1\" layerRef=\"TIP\"")), "I81-007",
            10},
        Bad{"WithAPointInTheMask", document(point("x=\"1\" y=\"1\" layerRef=\"MASK\"")), "I81-007",
            10},
        Bad{"OfTwoBoards",
            document(point("x=\"1\" y=\"1\" layerRef=\"TOP\"") + "</Step>\n<Step name=\"b\">" +
                     point("x=\"1\" y=\"1\" layerRef=\"TOP\"")),
            "I81-008", 11},
        Bad{"WithAPinOnTwoNets",
            document("<LogicalNet name=\"A\"><PinRef componentRef=\"J1\" pin=\"1\"/></LogicalNet>\n"
                     "<LogicalNet name=\"B\"><PinRef componentRef=\"J1\" pin=\"1\"/></LogicalNet>"),
            "I81-009", 11},
        Bad{"WithoutAPlace", document(point("x=\"1\" layerRef=\"TOP\"")), "I81-010", 10},
        Bad{"WithAPlaceOnTwoNets",
            document(std::string(kNets) + kPads + "\n" +
                     "<PhyNet name=\"A\"><PhyNetPoint x=\"4\" y=\"2\" layerRef=\"TOP\"/></PhyNet>"),
            "I81-011", 16},
        Bad{"WithoutPoints", document(""), "I81-012", 0},
        Bad{"WithAnUnknownExposure",
            document(point("x=\"1\" y=\"1\" layerRef=\"TOP\" exposure=\"OPEN\"")), "I81-013", 10}),
    [](const auto& bad) { return std::string(bad.param.name); });

// Not among the parameters above: those are copied whenever any test of this program starts.
TEST(Ipc2581, RefusesTooMuch) {
  for (const auto& text : {deep(), "<IPC-2581>" + std::string(4'000'001, '<'),
                           "<IPC-2581>" + std::string(65u << 20, ' ')}) {
    const Problem p = problem_of(text);
    EXPECT_EQ(p.code, "I81-002") << format(p);
  }
}

TEST(Ipc2581, IsRecognisedByItsContent) {
  const test::TempDir dir;
  const auto file = dir.path() / "tide.txt";
  std::ofstream(file) << document(std::string(kNets) + kPads + kPoints);
  Diagnostics notes;
  const auto found = recognise({file}, dir.path(), notes);
  ASSERT_TRUE(found.ok());
  ASSERT_EQ(found->size(), 1U);
  EXPECT_EQ((*found)[0].role, FileRole::netlist);
  const auto bytes = read_whole_file(file);
  ASSERT_TRUE(bytes.ok());
  const auto netlist = read_netlist(*bytes, "tide.txt", notes);
  ASSERT_TRUE(netlist.ok());
  EXPECT_EQ(netlist->records.size(), 5U);
}

}  // namespace
}  // namespace isthmus::formats
