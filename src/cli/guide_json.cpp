// SPDX-License-Identifier: Apache-2.0
#include "cli/guide_json.hpp"

#include <nlohmann/json.hpp>

#include "cli/dumped.hpp"
#include "cli/guide_words.hpp"
#include "isthmus/report/guide_page.hpp"

namespace isthmus::cli {
namespace {

namespace event = session::event;
using Json = nlohmann::ordered_json;

Json number(const std::optional<Ohms>& ohms) { return ohms ? Json(ohms->value) : Json(nullptr); }
Json fork(const plan::Needle& n) { return n.fork ? Json(*n.fork) : Json(nullptr); }

class ToJson {
 public:
  ToJson(const expect::Board& board, const std::string& page) : board_(board), page_(page) {}

  Json operator()(const event::Start& s) const {
    Json needles = Json::array();
    for (const plan::Needle& n : s.needles)
      needles.push_back({{"channel", n.channel}, {"fork", fork(n)}});
    return {{"event", "start"},
            {"board", s.board},
            {"stage", s.stage},
            {"channels", s.channels},
            {"needles", needles},
            {"touches", s.touches},
            {"minutes", {s.minutes_low, s.minutes_high}},
            {"page", page_.empty() ? Json(nullptr) : Json(page_)}};
  }
  Json operator()(const event::Air&) const { return {{"event", "air"}}; }
  Json operator()(const event::Clips& c) const {
    Json clips = Json::array();
    for (const plan::HandClip& clip : c.clips) {
      Json j = place(clip.point, clip.side);
      j["channel"] = clip.channel;
      clips.push_back(std::move(j));
    }
    return {{"event", "clips"},
            {"round", c.round},
            {"of", c.of},
            {"clips", clips},
            {"remove", c.remove}};
  }
  Json operator()(const event::Touch& t) const {
    Json j{{"event", "touch"},   {"touch", t.touch},          {"left", t.left},
           {"needle", t.needle}, {"channel", t.tips.channel}, {"fork", fork(t.tips)}};
    j.update(place(t.point, t.side));
    j["x_mm"] = to_mm(t.at.x);
    j["y_mm"] = to_mm(t.at.y);
    j["where"] = where_in_words(board_, t.point, t.side);
    j["again"] = t.again;
    j["why"] = t.why.empty() ? Json(nullptr) : Json(t.why);
    j["turn_over"] = t.turn_over;
    j["noticed"] = t.noticed;
    j["beside"] = nullptr;
    if (t.beside) {
      j["beside"] = place(t.beside->second, t.side);
      j["beside"]["needle"] = t.beside->first;
    }
    j["likelihood"] = t.likelihood;
    return j;
  }
  Json operator()(const event::Lift& l) const { return {{"event", "lift"}, {"needle", l.needle}}; }
  Json operator()(const event::Landed& l) const {
    return {{"event", "landed"}, {"touch", l.touch}};
  }
  Json operator()(const event::Read& r) const {
    return {{"event", "read"},          {"touch", r.touch},
            {"ohm", number(r.ohms)},    {"predicted_ohm", number(r.predicted)},
            {"isolation", r.isolation}, {"against", r.against}};
  }
  Json operator()(const event::Booked& b) const {
    return {{"event", "booked"}, {"touch", b.touch}, {"result", b.result}};
  }
  Json operator()(const event::Wrong& w) const {
    Json heard = Json::array();
    for (const PointId p : w.heard) heard.push_back(id(p));
    return {{"event", "wrong"}, {"touch", w.touch}, {"wanted", id(w.wanted)}, {"heard", heard}};
  }
  Json operator()(const event::Lost& l) const { return {{"event", "lost"}, {"touch", l.touch}}; }
  Json operator()(const event::Clip& c) const {
    return {{"event", "clip"},
            {"channel", c.channel},
            {"point", id(c.point)},
            {"what", c.what},
            {"with", c.with ? Json(*c.with) : Json(nullptr)}};
  }
  Json operator()(const event::Finding& f) const {
    Json j{{"event", "finding"}};
    j.update(Json::parse(report::finding_json(f.finding)));
    return j;
  }
  Json operator()(const event::Coverage& c) const {
    return {{"event", "coverage"},
            {"likelihood", c.likelihood},
            {"touches_done", c.done},
            {"touches_left", c.left},
            {"minutes_left", {c.minutes_low, c.minutes_high}}};
  }
  Json operator()(const event::Note& n) const {
    return {{"event", n.what}, {"touch", n.touch}, {"why", n.why}};
  }
  Json operator()(const event::Withdrawn& w) const {
    return {
        {"event", "withdrawn"}, {"kind", diagnose::name(w.finding.kind)}, {"nets", w.finding.nets}};
  }
  Json operator()(const event::Offer& o) const {
    return {{"event", "offer"}, {"findings", o.findings}};
  }
  Json operator()(const event::End& e) const {
    return {{"event", "end"}, {"verdict", diagnose::name(e.verdict)}};
  }

 private:
  [[nodiscard]] const std::string& id(PointId p) const { return board_.expectation.point(p).id; }
  [[nodiscard]] Json place(PointId p, Side side) const {
    const expect::Point& point = board_.expectation.point(p);
    return {{"point", point.id},
            {"net", point.net},
            {"side", name(side)},
            {"x_mm", to_mm(point.at.x)},
            {"y_mm", to_mm(point.at.y)}};
  }
  const expect::Board& board_;
  const std::string& page_;
};

}  // namespace

std::string event_json(const expect::Board& board, const session::Event& event,
                       const std::string& page) {
  Json j{{"n", event.n}};
  j.update(std::visit(ToJson(board, page), event.what));
  return dumped(j);
}

}  // namespace isthmus::cli
