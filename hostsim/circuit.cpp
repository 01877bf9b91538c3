// SPDX-License-Identifier: Apache-2.0
#include "circuit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <map>

#include "isthmus/base/ensure.hpp"

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
    const int a = used[static_cast<std::size_t>(i)].first,
              b = used[static_cast<std::size_t>(j)].first;
    return c.transfer[static_cast<std::size_t>(a * c.terminals + b)];
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

struct Capacitance {
  double high{}, low{};
  [[nodiscard]] double between() const { return std::min(high, low); }
};

}  // namespace

Circuit::Circuit(const Laid& laid, const std::vector<Crosspoint>& closed, const MatrixDraw& draw)
    : wires_(draw.wires) {
  Mesh mesh(draw.wires);
  std::vector<int> channels;
  for (const Crosspoint& c : closed) channels.push_back(c.channel);
  std::sort(channels.begin(), channels.end());
  channels.erase(std::unique(channels.begin(), channels.end()), channels.end());
  const std::vector<char> active = active_conductors(laid, channels);

  std::map<std::pair<int, int>, int> node_of;  // conductor, terminal
  std::vector<std::vector<std::pair<int, int>>> used(laid.conductors.size());
  const auto node = [&](const Terminal& t) {
    const auto [it, fresh] = node_of.try_emplace({t.conductor, t.terminal}, -1);
    if (fresh) {
      it->second = mesh.add();
      used[static_cast<std::size_t>(t.conductor)].emplace_back(t.terminal, it->second);
    }
    return it->second;
  };
  const auto is_active = [&](const Terminal& t) {
    return t.conductor >= 0 && active[static_cast<std::size_t>(t.conductor)] != 0;
  };

  std::vector<int> keep;
  for (int r = 0; r < draw.wires; ++r) keep.push_back(r);
  const auto port = [&](const Terminal& t) {
    const int n = node(t);
    const auto found = std::find(keep.begin(), keep.end(), n);
    if (found == keep.end()) {
      keep.push_back(n);
      return static_cast<int>(keep.size()) - 1;
    }
    return static_cast<int>(found - keep.begin());
  };
  for (const Leak& l : laid.leaks) {
    if (!is_active(l.a)) continue;
    const int a = port(l.a), b = port(l.b);
    if (a != b) leaks_.push_back({a, b, l.ohm, l.exponent, l.drift_per_s});
  }
  for (const Battery& b : laid.batteries) {
    if (!is_active(b.plus)) continue;
    const int plus = port(b.plus), minus = port(b.minus);
    if (plus != minus) batteries_.push_back({plus, minus, b.volts, b.ohm});
  }
  for (const int channel : channels) {
    const Tip& tip = laid.tips[static_cast<std::size_t>(channel - 1)];
    if (tip.at.conductor >= 0) node(tip.at);
  }
  for (std::size_t c = 0; c < used.size(); ++c)
    connect_conductor(laid.conductors[c], used[c], mesh);

  Capacitance capacitance;
  std::vector<char> is_closed(static_cast<std::size_t>(draw.wires * (draw.channels + 1)), 0);
  const auto switch_at = [&](int row, int channel) -> char& {
    return is_closed[static_cast<std::size_t>((row - 1) * (draw.channels + 1) + channel)];
  };
  for (const Crosspoint& c : closed) switch_at(c.row, c.channel) = 1;
  for (const int channel : channels) {
    const int lead = mesh.add();
    const Tip& tip = laid.tips[static_cast<std::size_t>(channel - 1)];
    const bool touching = tip.at.conductor >= 0;
    if (touching) mesh.connect(lead, node(tip.at), siemens_of(tip.ohm));
    for (int row = 1; row <= draw.wires; ++row) {
      const bool on = switch_at(row, channel) != 0;
      mesh.connect(lead, row - 1, on ? siemens_of(draw.switch_ohm) : draw.leak_siemens);
      if (!on || row > 2) continue;
      const double farad =
          kLeadFarad +
          (touching ? laid.conductors[static_cast<std::size_t>(tip.at.conductor)].farad : 0);
      (row == 1 ? capacitance.high : capacitance.low) += farad;
    }
  }
  farad_ = capacitance.between();

  int idle = 0;  // open channels that hang on nothing driven: stars between the rows
  for (int channel = 1; channel <= draw.channels; ++channel) {
    if (std::binary_search(channels.begin(), channels.end(), channel)) continue;
    const Tip& tip = laid.tips[static_cast<std::size_t>(channel - 1)];
    if (!is_active(tip.at) || used[static_cast<std::size_t>(tip.at.conductor)].empty()) {
      ++idle;
      continue;
    }
    const int hang = used[static_cast<std::size_t>(tip.at.conductor)].front().second;
    for (int row = 0; row < draw.wires; ++row) mesh.connect(hang, row, draw.leak_siemens);
  }
  for (int a = 0; a < draw.wires; ++a) {
    for (int b = a + 1; b < draw.wires; ++b)
      mesh.connect(a, b, idle * draw.leak_siemens / draw.wires);
  }
  if (draw.reference) {
    mesh.connect(0, 1, siemens_of(*draw.reference));
    if (draw.wires == 4) {
      mesh.connect(0, 2, siemens_of(0));
      mesh.connect(1, 3, siemens_of(0));
    }
  }
  if (draw.wires == 4 && draw.meter_on_sense) mesh.connect(2, 3, kMeterSiemens);
  siemens_ = mesh.reduce(keep);
  ports_ = static_cast<int>(keep.size());
}

std::vector<double> Circuit::potentials(const Drive& drive,
                                        const std::vector<double>& leaks) const {
  const Eigen::Index n = ports_;
  Eigen::MatrixXd m = Eigen::MatrixXd::Zero(n, n);
  Eigen::VectorXd in = Eigen::VectorXd::Zero(n);
  const auto add = [&](int a, int b, double g) {
    m(a, a) += g;
    m(b, b) += g;
    m(a, b) -= g;
    m(b, a) -= g;
  };
  for (int a = 0; a < ports_; ++a) {
    m(a, a) += kStraySiemens;
    for (int b = a + 1; b < ports_; ++b)
      add(a, b, siemens_[static_cast<std::size_t>(a * ports_ + b)]);
  }
  for (std::size_t k = 0; k < leaks_.size(); ++k) add(leaks_[k].a, leaks_[k].b, leaks[k]);
  for (const PortBattery& b : batteries_) {
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
  std::vector<double> result(static_cast<std::size_t>(ports_), 0.0);
  for (std::size_t i = 0; i < others.size(); ++i) {
    result[static_cast<std::size_t>(others[i])] = v[static_cast<Eigen::Index>(i)];
  }
  return result;
}

Potentials Circuit::solve(const Drive& drive, double seconds) const {
  std::vector<double> leaks;
  bool curved = false;
  const auto drifted = [&](const PortLeak& l) {
    return l.ohm * std::max(0.01, 1.0 + l.drift_per_s * seconds);
  };
  for (const PortLeak& l : leaks_) {
    leaks.push_back(1.0 / drifted(l));
    curved = curved || l.exponent != 1;
  }
  std::vector<double> v = potentials(drive, leaks);
  for (int step = 0; curved && step < 40; ++step) {
    for (std::size_t k = 0; k < leaks_.size(); ++k) {
      const PortLeak& l = leaks_[k];
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
