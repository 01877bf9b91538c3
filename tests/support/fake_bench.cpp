// SPDX-License-Identifier: Apache-2.0
#include "tests/support/fake_bench.hpp"

#include <algorithm>
#include <cmath>
#include <queue>
#include <stdexcept>

namespace isthmus::test {

using plan::StepKind;

FakeBench::FakeBench(const expect::Board& board, plan::Plan plan)
    : board_(board), plan_(std::move(plan)) {
  for (plan::Placement& p : plan_.placements) p.tried_in_air = true;
  for (const expect::Group& g : board.expectation.groups) {
    for (std::size_t i = 1; i < g.points.size(); ++i)
      edges_.push_back({index(g.points[i - 1]), index(g.points[i]), 0.02});
  }
}

std::size_t FakeBench::point(const std::string& id) const {
  const auto& points = board_.expectation.points;
  const auto it = std::ranges::find(points, id, &expect::Point::id);
  if (it == points.end()) throw std::runtime_error("no point " + id);
  return static_cast<std::size_t>(it - points.begin());
}

void FakeBench::cut(const std::string& a, const std::string& b) {
  const std::size_t pa = point(a), pb = point(b);
  const auto n = std::erase_if(
      edges_, [&](const Edge& e) { return (e.a == pa && e.b == pb) || (e.a == pb && e.b == pa); });
  if (n == 0) throw std::runtime_error("nothing to cut between " + a + " and " + b);
}

void FakeBench::untie(const std::string& a, const std::string& b) {
  const std::size_t p = point(a), q = point(b);
  std::erase_if(edges_,
                [&](const Edge& e) { return (e.a == p && e.b == q) || (e.a == q && e.b == p); });
}

void FakeBench::tie(const std::string& a, const std::string& b, double ohms) {
  edges_.push_back({point(a), point(b), ohms});
}

void FakeBench::land(std::size_t placement, formats::Channel channel,
                     std::optional<std::string> on) {
  landed_[{placement, channel}] = on ? std::optional(point(*on)) : std::nullopt;
}

void FakeBench::swap(std::size_t placement, formats::Channel a, formats::Channel b) {
  for (const plan::Probe& p : plan_.placements.at(placement).probes) {
    if (p.channel == a) landed_[{placement, b}] = index(p.point);
    if (p.channel == b) landed_[{placement, a}] = index(p.point);
  }
}

void FakeBench::add_resistance(const std::string& a, const std::string& b, double ohms) {
  cut(a, b);
  tie(a, b, ohms);
}

void FakeBench::touch_wires(const std::string& a, const std::string& b, double ohms) {
  tie(a, b, ohms);
  for (const plan::Placement& placement : plan_.placements) {
    std::optional<formats::Channel> of_a, of_b;
    for (const plan::Probe& p : placement.probes) {
      if (index(p.point) == point(a)) of_a = p.channel;
      if (index(p.point) == point(b)) of_b = p.channel;
    }
    if (of_a && of_b) harness.touching.insert(std::minmax(*of_a, *of_b));
  }
}

std::vector<std::size_t> FakeBench::under(const plan::Step& step, int row) const {
  std::set<formats::Channel> closed;
  for (formats::Channel c : row == 1 ? step.source : step.ret) {
    if (!stuck_open_.contains({row, c})) closed.insert(c);
  }
  for (const auto& [r, c] : stuck_closed_) {
    if (r == row) closed.insert(c);
  }
  std::vector<std::size_t> points;
  for (const plan::Probe& p : plan_.placements[step.placement].probes) {
    const bool touches = !lifted_.contains(board_.expectation.point(p.point).id);
    if (!touches || !(closed.contains(p.channel) || (p.twin && closed.contains(*p.twin)))) continue;
    const auto landed = landed_.find({step.placement, p.channel});
    if (landed == landed_.end())
      points.push_back(index(p.point));
    else if (landed->second)
      points.push_back(*landed->second);
  }
  return points;
}

// Pools of small resistances first, then the leaks between the pools side by side.
double FakeBench::ohms(const plan::Step& step) const {
  for (const auto& [r1, c1] :
       stuck_closed_) {  // both rows on one channel: a short inside the matrix
    const auto& other = r1 == 1 ? step.ret : step.source;
    if (std::ranges::find(other, c1) != other.end()) return 0.5;
  }
  const auto from = under(step, 1), to = under(step, 2);
  std::vector<double> reach(board_.expectation.points.size(), INFINITY);
  using Item = std::pair<double, std::size_t>;
  std::priority_queue<Item, std::vector<Item>, std::greater<>> queue;
  for (std::size_t p : from) reach[p] = 0, queue.push({0, p});
  while (!queue.empty()) {
    const auto [r, p] = queue.top();
    queue.pop();
    if (r > reach[p]) continue;
    for (const Edge& e : edges_) {
      if (e.ohms > 1000 || (e.a != p && e.b != p)) continue;
      const std::size_t q = e.a == p ? e.b : e.a;
      if (r + e.ohms < reach[q]) reach[q] = r + e.ohms, queue.push({reach[q], q});
    }
  }
  double best = INFINITY;
  for (std::size_t p : to) best = std::min(best, reach[p]);
  if (best < INFINITY) return best + 0.1;
  std::vector<bool> sink(reach.size());
  std::vector<std::size_t> stack(to.begin(), to.end());
  for (std::size_t p : to) sink[p] = true;
  while (!stack.empty()) {
    const std::size_t p = stack.back();
    stack.pop_back();
    for (const Edge& e : edges_) {
      if (e.ohms > 1000 || (e.a != p && e.b != p)) continue;
      const std::size_t q = e.a == p ? e.b : e.a;
      if (!sink[q]) sink[q] = true, stack.push_back(q);
    }
  }
  double siemens = 0;
  for (const Edge& e : edges_) {
    if (e.ohms <= 1000) continue;
    const bool across =
        (reach[e.a] < INFINITY && sink[e.b]) || (reach[e.b] < INFINITY && sink[e.a]);
    if (across) siemens += 1 / e.ohms;
  }
  return siemens > 0 ? 1 / siemens : INFINITY;
}

// Of a pool only one tip need be bright.
double FakeBench::tarnish(const plan::Step& step) const {
  double sum = 0;
  for (const auto* row : {&step.source, &step.ret}) {
    const auto tip = row->size() == 1 ? dull_.find(row->front()) : dull_.end();
    if (tip != dull_.end()) sum += tip->second;
  }
  return sum;
}

plan::Outcome FakeBench::answer(const plan::Step& step) const {
  if (step.kind == StepKind::board_voltage) return plan::Measured{0.0, 1e-4};
  if (step.kind == StepKind::reference) return plan::Measured{step.limit.value, 0.1};
  const bool by_check = step.kind == StepKind::contact && (step.source.empty() || step.ret.empty());
  if (by_check) {
    const int row = step.source.empty() ? 2 : 1;
    return plan::Measured{under(step, row).empty() ? 0.0 : 1.0, 0};
  }
  if (step.kind == StepKind::contact) {  // a tip and its twin: one pad
    return under(step, 1).empty() || under(step, 2).empty()
               ? plan::Outcome{plan::OverRange{}}
               : plan::Measured{0.1 + tarnish(step), 1e-3};
  }
  const double r = ohms(step) + tarnish(step);
  const double most = step.kind == StepKind::isolation || step.volts.value > 0 ? 1e9 : 1e5;
  if (r > most) return plan::OverRange{};
  return plan::Measured{r, r * 1e-3 + 1e-4};
}

const plan::Reading& FakeBench::measure(const plan::Step& step) {
  plan::Outcome outcome = answer(step);
  if (meddle) meddle(step, outcome);
  return readings_.emplace_back(
      plan::Reading{step.id, static_cast<std::uint32_t>(readings_.size()), outcome, 0});
}

diagnose::Diagnosis FakeBench::run(bool complete) {
  diagnose::Knowledge knowledge(board_, plan_);
  knowledge.take(harness);
  for (std::size_t p = 0; p < plan_.placements.size(); ++p) {
    int rounds = 0;
    for (auto steps = knowledge.next(p); !steps.empty(); steps = knowledge.next(p)) {
      if (steps.front().wanted && ++rounds == 50)
        throw std::runtime_error("the diagnosis never has enough");
      for (const plan::Step& s : steps) knowledge.take(measure(s));
    }
  }
  plan_ = knowledge.plan();
  return knowledge.diagnosis(complete);
}

}  // namespace isthmus::test
