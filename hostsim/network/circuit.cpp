// SPDX-License-Identifier: Apache-2.0
#include "hostsim/network/circuit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

namespace isthmus::hostsim {
namespace {

constexpr double kLeastOhm = 1e-4;       // of a contact or switch
constexpr double kMeterSiemens = 1e-7;   // 10 Mohm input
constexpr double kStraySiemens = 1e-15;  // keeps floating parts at a potential
constexpr double kLeadFarad = 30e-12;    // one probe lead

double siemens_of(double ohm) { return 1.0 / std::max(ohm, kLeastOhm); }

// Conductances between nodes; nodes are taken out one by one by the star-mesh transform. Only sums
// and products of positive numbers: a teraohm beside a milliohm keeps its digits.
class Mesh {
 public:
  explicit Mesh(int fixed) : nodes_(fixed) {}
  int add() { return nodes_++; }
  void connect(int a, int b, double siemens) {
    if (a != b && siemens > 0) wires_[std::minmax(a, b)] += siemens;
  }
  // Conductances between the nodes of `keep`, in its order.
  [[nodiscard]] std::vector<double> reduce(const std::vector<int>& keep) const {
    const auto n = static_cast<std::size_t>(nodes_);
    std::vector<double> g(n * n, 0.0);
    for (const auto& [ends, siemens] : wires_) {
      const auto a = static_cast<std::size_t>(ends.first),
                 b = static_cast<std::size_t>(ends.second);
      g[a * n + b] = g[b * n + a] = siemens;
    }
    std::vector<char> present(n, 1);
    for (std::size_t k = n; k-- > 0;) {  // leads were added last: they have few neighbours
      if (std::find(keep.begin(), keep.end(), static_cast<int>(k)) == keep.end()) {
        eliminate(g, n, k, present);
      }
    }
    std::vector<double> reduced;
    for (const int a : keep) {
      for (const int b : keep) {
        reduced.push_back(g[static_cast<std::size_t>(a) * n + static_cast<std::size_t>(b)]);
      }
    }
    return reduced;
  }

 private:
  static void eliminate(std::vector<double>& g, std::size_t n, std::size_t k,
                        std::vector<char>& present) {
    present[k] = 0;
    std::vector<std::size_t> near;
    double sum = 0;
    for (std::size_t i = 0; i < n; ++i) {
      if (present[i] == 0 || g[k * n + i] <= 0) continue;
      near.push_back(i);
      sum += g[k * n + i];
    }
    for (const std::size_t i : near) {
      for (const std::size_t j : near) {
        if (i != j) g[i * n + j] += g[k * n + i] * g[k * n + j] / sum;
      }
    }
  }

  int nodes_;
  std::map<std::pair<int, int>, double> wires_;
};

// Which conductors take part: those with a closed tip, and what leaks or a battery couple to them.
std::vector<char> active_conductors(const Laid& laid, const std::vector<int>& closed_channels) {
  std::vector<char> active(laid.conductors.size(), 0);
  for (const int channel : closed_channels) {
    const Tip& tip = laid.tips[static_cast<std::size_t>(channel - 1)];
    if (tip.at.conductor >= 0) active[static_cast<std::size_t>(tip.at.conductor)] = 1;
  }
  bool grew = true;
  const auto couple = [&](const Terminal& a, const Terminal& b) {
    char& x = active[static_cast<std::size_t>(a.conductor)];
    char& y = active[static_cast<std::size_t>(b.conductor)];
    if (x != y) {
      x = y = 1;
      grew = true;
    }
  };
  while (grew) {
    grew = false;
    for (const Leak& l : laid.leaks) couple(l.a, l.b);
    for (const Tie& t : laid.ties) couple(t.a, t.b);
    for (const Battery& b : laid.batteries) couple(b.plus, b.minus);
  }
  return active;
}

// Adds the conductances between the used terminals of one conductor.
void connect_conductor(const Conductor& c, const std::vector<std::pair<int, int>>& used,
                       Mesh& mesh) {
  const auto count = static_cast<Eigen::Index>(used.size());
  if (count < 2) return;
  const auto z = [&](Eigen::Index i, Eigen::Index j) {
    const auto a = static_cast<std::size_t>(used[static_cast<std::size_t>(i)].first),
               b = static_cast<std::size_t>(used[static_cast<std::size_t>(j)].first);
    return c.transfer[a * static_cast<std::size_t>(c.terminals) + b];
  };
  Eigen::MatrixXd ohms(count - 1, count - 1);  // against the first used terminal
  for (Eigen::Index i = 1; i < count; ++i) {
    for (Eigen::Index j = 1; j < count; ++j) {
      ohms(i - 1, j - 1) = z(i, j) - z(i, 0) - z(0, j) + z(0, 0);
    }
  }
  const Eigen::MatrixXd siemens = ohms.inverse();
  for (Eigen::Index i = 1; i < count; ++i) {
    const int a = used[static_cast<std::size_t>(i)].second;
    for (Eigen::Index j = i + 1; j < count; ++j) {
      const double g = -0.5 * (siemens(i - 1, j - 1) + siemens(j - 1, i - 1));
      mesh.connect(a, used[static_cast<std::size_t>(j)].second, g);
    }
    mesh.connect(a, used[0].second, siemens.row(i - 1).sum());
  }
}

// Puts one reading's circuit together, part by part.
class Assembly {
 public:
  Assembly(const Laid& laid, const std::vector<Crosspoint>& closed, const MatrixDraw& draw)
      : laid_(laid), draw_(draw), mesh_(draw.wires), used_(laid.conductors.size()) {
    for (const Crosspoint& c : closed) {
      channels_.push_back(c.channel);
      is_closed_.insert(c);
    }
    add_touching_leads();
    std::sort(channels_.begin(), channels_.end());
    channels_.erase(std::unique(channels_.begin(), channels_.end()), channels_.end());
    active_ = active_conductors(laid, channels_);
    for (int row = 0; row < draw.wires; ++row) keep_.push_back(row);
  }

  Ports run() {
    add_board();
    add_closed_channels();
    add_open_channels();
    add_meter_side();
    ports_.siemens = mesh_.reduce(keep_);
    ports_.count = static_cast<int>(keep_.size());
    return std::move(ports_);
  }

 private:
  // A lead that touches one with a closed switch takes part, however far along.
  void add_touching_leads() {
    const auto takes_part = [&](int channel) {
      return std::find(channels_.begin(), channels_.end(), channel) != channels_.end();
    };
    for (bool grew = true; grew;) {
      grew = false;
      for (const LeadsTouch& t : draw_.touching) {
        if (takes_part(t.a) == takes_part(t.b)) continue;
        channels_.push_back(takes_part(t.a) ? t.b : t.a);
        grew = true;
      }
    }
  }
  [[nodiscard]] const Tip& tip(int channel) const {
    return laid_.tips[static_cast<std::size_t>(channel - 1)];
  }
  [[nodiscard]] bool is_active(const Terminal& t) const {
    return t.conductor >= 0 && active_[static_cast<std::size_t>(t.conductor)] != 0;
  }
  // Terminals in use of one conductor, with their nodes.
  std::vector<std::pair<int, int>>& used(const Terminal& t) {
    return used_[static_cast<std::size_t>(t.conductor)];
  }
  int node(const Terminal& t) {
    const auto [it, fresh] = node_of_.try_emplace({t.conductor, t.terminal}, -1);
    if (fresh) {
      it->second = mesh_.add();
      used(t).emplace_back(t.terminal, it->second);
    }
    return it->second;
  }
  int port(const Terminal& t) {
    const int n = node(t);
    const auto found = std::find(keep_.begin(), keep_.end(), n);
    const auto at = static_cast<int>(found - keep_.begin());
    if (found == keep_.end()) keep_.push_back(n);
    return at;
  }

  void add_board() {
    for (const Leak& l : laid_.leaks) {
      if (!is_active(l.a)) continue;
      const int a = port(l.a), b = port(l.b);
      if (a != b) ports_.leaks.push_back({a, b, l.ohm, l.exponent, l.drift_per_s});
    }
    for (const Battery& b : laid_.batteries) {
      if (!is_active(b.plus)) continue;
      const int plus = port(b.plus), minus = port(b.minus);
      if (plus != minus) ports_.batteries.push_back({plus, minus, b.volts, b.ohm});
    }
    for (const int channel : channels_) {
      if (tip(channel).at.conductor >= 0) node(tip(channel).at);
    }
    for (const Tie& t : laid_.ties) {
      if (is_active(t.a)) mesh_.connect(node(t.a), node(t.b), siemens_of(t.ohm));
    }
    for (std::size_t c = 0; c < used_.size(); ++c) {
      connect_conductor(laid_.conductors[c], used_[c], mesh_);
    }
  }

  void add_closed_channels() {
    double high = 0, low = 0;
    std::map<int, int> leads;
    for (const int channel : channels_) {
      const int lead = mesh_.add();
      leads[channel] = lead;
      double farad = kLeadFarad;
      if (const Tip& t = tip(channel); t.at.conductor >= 0) {
        mesh_.connect(lead, node(t.at), siemens_of(t.ohm));
        farad += laid_.conductors[static_cast<std::size_t>(t.at.conductor)].farad + t.farad;
      }
      for (int row = 1; row <= draw_.wires; ++row) {
        const bool on = is_closed_.contains({row, channel});
        mesh_.connect(lead, row - 1, on ? siemens_of(draw_.switch_ohm) : draw_.leak_siemens);
        if (on && row == 1) high += farad;
        if (on && row == 2) low += farad;
      }
    }
    for (const LeadsTouch& t : draw_.touching) {
      if (leads.contains(t.a)) mesh_.connect(leads.at(t.a), leads.at(t.b), siemens_of(t.ohm));
    }
    ports_.farad = std::min(high, low);
  }

  // Open switches leak into the conductor their tip touches; those that hang on nothing driven are
  // stars between the rows.
  void add_open_channels() {
    int idle = 0;
    for (int channel = 1; channel <= draw_.channels; ++channel) {
      if (std::binary_search(channels_.begin(), channels_.end(), channel)) continue;
      const Terminal& at = tip(channel).at;
      if (!is_active(at) || used(at).empty()) {
        ++idle;
        continue;
      }
      const int hang = used(at).front().second;
      for (int row = 0; row < draw_.wires; ++row) mesh_.connect(hang, row, draw_.leak_siemens);
    }
    for (int a = 0; a < draw_.wires; ++a) {
      for (int b = a + 1; b < draw_.wires; ++b) {
        mesh_.connect(a, b, idle * draw_.leak_siemens / draw_.wires);
      }
    }
  }

  void add_meter_side() {
    if (draw_.reference) {
      mesh_.connect(0, 1, siemens_of(*draw_.reference));
      if (draw_.wires == 4) {
        mesh_.connect(0, 2, siemens_of(0));
        mesh_.connect(1, 3, siemens_of(0));
      }
    }
    if (draw_.wires == 4 && draw_.meter_on_sense) mesh_.connect(2, 3, kMeterSiemens);
  }

  const Laid& laid_;
  const MatrixDraw& draw_;
  Mesh mesh_;
  std::vector<int> channels_;  // with a closed switch, ascending
  std::set<Crosspoint> is_closed_;
  std::vector<char> active_;
  std::map<std::pair<int, int>, int> node_of_;  // conductor, terminal
  std::vector<std::vector<std::pair<int, int>>> used_;
  std::vector<int> keep_;
  Ports ports_;
};

}  // namespace

Circuit::Circuit(const Laid& laid, const std::vector<Crosspoint>& closed, const MatrixDraw& draw)
    : wires_(draw.wires), ports_(Assembly(laid, closed, draw).run()) {}

std::vector<double> Circuit::potentials(const Drive& drive,
                                        const std::vector<double>& leaks) const {
  const Eigen::Index n = ports_.count;
  Eigen::MatrixXd m = Eigen::MatrixXd::Zero(n, n);
  Eigen::VectorXd in = Eigen::VectorXd::Zero(n);
  const auto add = [&](int a, int b, double g) {
    m(a, a) += g;
    m(b, b) += g;
    m(a, b) -= g;
    m(b, a) -= g;
  };
  for (int a = 0; a < ports_.count; ++a) {
    m(a, a) += kStraySiemens;
    for (int b = a + 1; b < ports_.count; ++b)
      add(a, b,
          ports_.siemens[static_cast<std::size_t>(a) * static_cast<std::size_t>(ports_.count) +
                         static_cast<std::size_t>(b)]);
  }
  for (std::size_t k = 0; k < ports_.leaks.size(); ++k)
    add(ports_.leaks[k].a, ports_.leaks[k].b, leaks[k]);
  for (const Ports::Battery& b : ports_.batteries) {
    add(b.plus, b.minus, 1.0 / b.ohm);
    in[b.plus] += b.volts / b.ohm;
    in[b.minus] -= b.volts / b.ohm;
  }
  if (drive.siemens > 0) add(0, 1, drive.siemens);
  in[0] += drive.amps;
  in[1] -= drive.amps;
  std::vector<Eigen::Index> others;  // row 2 is the zero of potential
  for (Eigen::Index i = 0; i < n; ++i) {
    if (i != 1) others.push_back(i);
  }
  const Eigen::VectorXd v =
      Eigen::MatrixXd(m(others, others)).ldlt().solve(Eigen::VectorXd(in(others)));
  std::vector<double> result(static_cast<std::size_t>(ports_.count), 0.0);
  for (std::size_t i = 0; i < others.size(); ++i) {
    result[static_cast<std::size_t>(others[i])] = v[static_cast<Eigen::Index>(i)];
  }
  return result;
}

Potentials Circuit::solve(const Drive& drive, double seconds) const {
  std::vector<double> leaks;
  bool curved = false;
  const auto drifted = [&](const Ports::Leak& l) {
    return l.ohm * std::max(0.01, 1.0 + l.drift_per_s * seconds);
  };
  for (const Ports::Leak& l : ports_.leaks) {
    leaks.push_back(1.0 / drifted(l));
    curved = curved || l.exponent != 1;
  }
  std::vector<double> v = potentials(drive, leaks);
  for (int step = 0; curved && step < 40; ++step) {
    for (std::size_t k = 0; k < ports_.leaks.size(); ++k) {
      const Ports::Leak& l = ports_.leaks[k];
      const double volts =
          std::abs(v[static_cast<std::size_t>(l.a)] - v[static_cast<std::size_t>(l.b)]);
      const double wanted = std::pow(std::max(volts, 1e-6) / 10.0, l.exponent - 1) / drifted(l);
      leaks[k] = std::sqrt(leaks[k] * wanted);  // damped: settles for exponents up to 3
    }
    v = potentials(drive, leaks);
  }
  Potentials p;
  p.force = v[0] - v[1];
  if (wires_ == 4) p.sense = v[2] - v[3];
  return p;
}

}  // namespace isthmus::hostsim
