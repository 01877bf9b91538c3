// SPDX-License-Identifier: Apache-2.0
// Answers the steps of a plan from a list of who conducts to whom: no geometry, no adapter.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "isthmus/diagnose/knowledge.hpp"

namespace isthmus::test {

class FakeBench {
 public:
  // As designed: the points of each group in a chain.
  FakeBench(const expect::Board& board, plan::Plan plan);

  void cut(const std::string& a, const std::string& b);  // between neighbours in the chain
  void tie(const std::string& a, const std::string& b, double ohms);  // bridge, whisker or leak
  void untie(const std::string& a, const std::string& b);             // mended
  // Ohms that this tip has beyond the usual 0.05, wherever it stands: tarnish, or a worn spring.
  void dull(formats::Channel tip, double ohms) { dull_[tip] = ohms; }
  void lift(const std::string& point) { lifted_.insert(point); }  // its tip touches nothing
  // In that placement the channel's tip comes down on another point's copper, or on none.
  void land(std::size_t placement, formats::Channel channel, std::optional<std::string> on);
  // Nobody tried its wires in the air.
  void not_in_air(std::size_t placement) { plan_.placements.at(placement).tried_in_air = false; }
  void swap(std::size_t placement, formats::Channel a, formats::Channel b);
  void add_resistance(const std::string& a, const std::string& b, double ohms);
  void stick_closed(int row, formats::Channel channel) { stuck_closed_.push_back({row, channel}); }
  void stick_open(int row, formats::Channel channel) { stuck_open_.insert({row, channel}); }
  // Of two points' wires, in a placement: they touch, and the trial in the air says so. An open or a
  // bridge is shunted as by a tie.
  void touch_wires(const std::string& a, const std::string& b, double ohms = 0.1);
  diagnose::Harness harness;  // what the diagnosis is told
  // Last word on every outcome, by step.
  std::function<void(const plan::Step&, plan::Outcome&)> meddle;

  const plan::Reading& measure(const plan::Step& step);
  // Static steps, wanted steps placement by placement, diagnosis.
  diagnose::Diagnosis run(bool complete = true);
  [[nodiscard]] const plan::Plan& plan() const { return plan_; }
  // Placements that the plan has now: landings.
  void follow(const plan::Plan& plan) { plan_ = plan; }
  [[nodiscard]] const std::vector<plan::Reading>& readings() const { return readings_; }

 private:
  struct Edge {
    std::size_t a, b;
    double ohms;
  };
  [[nodiscard]] plan::Outcome answer(const plan::Step& step) const;
  [[nodiscard]] double ohms(const plan::Step& step) const;
  [[nodiscard]] double tarnish(const plan::Step& step) const;
  [[nodiscard]] std::vector<std::size_t> under(const plan::Step& step, int row) const;
  [[nodiscard]] std::size_t point(const std::string& id) const;

  const expect::Board& board_;
  plan::Plan plan_;
  std::vector<Edge> edges_;
  std::set<std::string> lifted_;
  std::map<formats::Channel, double> dull_;
  std::map<std::pair<std::size_t, formats::Channel>, std::optional<std::size_t>> landed_;
  std::vector<std::pair<int, formats::Channel>> stuck_closed_;
  std::set<std::pair<int, formats::Channel>> stuck_open_;
  std::vector<plan::Reading> readings_;
};

}  // namespace isthmus::test
