// SPDX-License-Identifier: Apache-2.0
// What the readings say, and which of them can be trusted.
#pragma once

#include <map>
#include <set>
#include <span>
#include <tuple>
#include <utility>
#include <vector>

#include "diagnose/blocks.hpp"
#include "diagnose/rounds.hpp"
#include "isthmus/diagnose/diagnosis.hpp"

namespace isthmus::diagnose {

using formats::Channel;

// Ohms of copper alone.
struct Bare {
  double ohms{}, sd{};
  // Else it has so much at the least: two tips alone cannot say more.
  bool at_least{};
};

// What was heard between two channels of one placement, whichever way round.
struct Heard {
  std::vector<double> lows;  // ohms of the readings within the continuity limit
  std::vector<double> dull;  // beyond it, and no more than tips on tarnish may add
  std::size_t highs{};       // over-range or beyond both
  std::size_t none{};        // no reading, or one that cannot be used
  double limit{};            // of continuity, ohms
  std::optional<copper::Predicted> predicted;
  // What the other readings of the placement say of the copper between, contacts left out.
  std::optional<Bare> bare;
  [[nodiscard]] bool asked() const { return !lows.empty() || !dull.empty() || highs + none > 0; }
  [[nodiscard]] bool conducts() const { return !lows.empty() && highs == 0; }
  // REQUIRES lows or dull ones. Contacts only add: the least counts.
  [[nodiscard]] double least() const;
  // Beyond the limit, and nothing says whether by copper or by contact.
  [[nodiscard]] bool dull_only() const { return lows.empty() && !dull.empty() && highs == 0; }
  [[nodiscard]] bool apart() const { return highs >= 2 && lows.empty(); }  // confirmed by a repeat
  [[nodiscard]] bool contradicts() const { return !lows.empty() && highs > 0; }
};

// One isolation reading whose block's controls are right.
struct IsolationReading {
  std::vector<Channel> source, ret;
  std::uint32_t sequence{};
  std::size_t block{};
  bool over_range{};
  double ohms{};
  double uncertainty{};
  // What the adapter's own open switches conduct with the same channels closed: each row alone, at
  // the same voltage. It may explain a low reading; it never mends one.
  double leakage{};  // siemens
};

enum class Touch { unknown, proven, missing };

// Takes readings one at a time. What they say counts after `settle`, block by block, since only the
// controls of a block tell whether it does.
class Evidence {
 public:
  explicit Evidence(const plan::Plan& plan);
  Evidence(const plan::Plan& plan, std::span<const plan::Reading> readings);  // settled

  void take(const plan::Reading& reading);
  // The plan has placements more than before: landings of needles.
  void grow() { placed_.resize(plan_.placements.size()); }
  // Nothing that was read in it counts any more.
  void take_back(std::size_t placement);
  // Cost: of the blocks read since, and of the isolation readings of their placements.
  void settle();

  [[nodiscard]] Heard between(std::size_t placement, Channel a, Channel b) const;
  [[nodiscard]] const std::map<std::pair<Channel, Channel>, Heard>& heard(
      std::size_t placement) const;
  // Between two tips on one pad: two contacts in line. Nothing where it was not read, or in vain.
  [[nodiscard]] std::optional<double> twin_ohms(std::size_t placement, Channel probe) const;
  [[nodiscard]] Touch touch(std::size_t placement, Channel channel) const;
  // Proven through that switch in this placement, before `sequence` and after it.
  // A clip that stays where it is may be proven so in other landings of its round.
  [[nodiscard]] bool proven_around(std::size_t placement, int row, Channel channel,
                                   std::uint32_t sequence) const;
  // Of a clip: when it was last proven in its round; and when it was last heard not to conduct to a
  // needle that stood on its own net.
  [[nodiscard]] std::optional<std::uint32_t> last_proven(std::size_t round, Channel clip) const;
  [[nodiscard]] std::optional<std::uint32_t> last_lost(std::size_t round, Channel clip) const;
  // A needle on its own net conducted to the clip, and it was not heard to be gone from then until
  // that landing, or until now.
  [[nodiscard]] bool hangs(std::size_t placement, Channel clip) const;
  [[nodiscard]] bool hangs_now(std::size_t round, Channel clip) const;
  // That switch was seen to conduct with as many closed, and its tip at the test voltage; or nothing
  // that conducts to its channel is known, so that it cannot be.
  [[nodiscard]] bool holds_under_load(std::size_t placement, int row, Channel channel,
                                      std::size_t closed) const;
  // What is known to conduct to the channel: its twin, else a fellow.
  [[nodiscard]] std::optional<Channel> partner(std::size_t placement, Channel channel) const;
  // The adapter's check said yes, and may say so of anything: it was seen to say no neither of a
  // channel without a tip nor of the placement's tips in the air.
  [[nodiscard]] bool by_check_alone(std::size_t placement, Channel channel) const;
  // It said so there of any tip.
  [[nodiscard]] bool check_proves_nothing(std::size_t placement) const {
    return !placed_[placement].said.touches.by_check_alone.empty();
  }
  // Asked for, and neither found nor missed: no answer could be used.
  [[nodiscard]] bool contact_unread(std::size_t placement, Channel channel) const;
  [[nodiscard]] std::size_t contact_tries(std::size_t placement, Channel channel) const;
  [[nodiscard]] const std::vector<IsolationReading>& isolations(std::size_t placement) const;
  // Those by current that heard no metal.
  [[nodiscard]] const std::vector<IsolationReading>& apart_by_current(std::size_t placement) const;
  // Controls of a block read wrong, or the block has isolation readings and no controls around
  // them.
  [[nodiscard]] const std::set<std::size_t>& bad_blocks() const { return bad_blocks_; }
  // A control of the isolation measurement read wrong there: a meter or switch that is wrong in one
  // block is right in the next by luck, so that nothing it heard to conduct is a finding.
  [[nodiscard]] bool isolation_distrusted(std::size_t placement) const {
    return placed_[placement].distrusted;
  }
  // The copper under that tip was reworked since: what it read counts for nothing.
  [[nodiscard]] bool stale(std::size_t placement, Channel channel) const;
  // After the plan's list of reworked copper grew.
  void rework();
  [[nodiscard]] bool reached(std::size_t placement) const;  // any reading at all
  // Value and uncertainty of a resistance step between two channels, ohms.
  [[nodiscard]] std::optional<std::pair<double, double>> by_current(std::size_t placement,
                                                                    Channel a, Channel b) const;
  // It was asked for, whatever came of it.
  [[nodiscard]] bool tried_by_current(std::size_t placement, Channel a, Channel b) const;

 private:
  struct Touches {
    std::map<std::pair<int, Channel>, std::vector<std::uint32_t>>
        proven;  // (row, channel) -> sequences
    std::map<Channel, std::size_t> missing, tries;
    // Conducted to a twin that may touch it, or a check said so that may say anything: asking again
    // is vain.
    std::set<Channel> by_twin_alone, by_check_alone;
    std::map<std::pair<Channel, Channel>, std::vector<std::uint32_t>> apart;  // over-range
    std::map<Channel, std::vector<std::uint32_t>> gone;  // the contact was asked for, and not there
    // Two that the plan has on one net, and that conducted.
    std::map<std::pair<Channel, Channel>, std::vector<std::uint32_t>> met;
  };
  // What the good blocks of one placement say.
  struct Said {
    std::map<std::pair<Channel, Channel>, Heard> read;   // each reading as it is, twins included
    std::map<std::pair<Channel, Channel>, Heard> heard;  // between probes, as all of them say
    std::map<Channel, std::vector<double>> twins;        // by probe: ohms against its twin
    Touches touches;
    std::map<std::pair<Channel, Channel>, std::pair<double, double>> by_current;
    std::set<std::pair<Channel, Channel>> tried_by_current;
    std::vector<IsolationReading> isolations, apart_by_current;
    std::map<std::pair<int, std::vector<Channel>>, double> leakages;  // (row, channels) -> S
    // (row, channel) -> most switches closed while it conducted
    std::map<std::pair<int, Channel>, std::size_t> loads;
    std::set<Channel> at_voltage;  // whose tip conducted so at the test voltage
  };
  struct Placed {
    std::map<std::size_t, Block> blocks;       // by number
    std::map<std::size_t, std::size_t> taken;  // of a block: so many readings are in `said`
    std::set<std::size_t> fresh;               // blocks with readings since the last settling
    Said said;
    bool reached{false}, distrusted{false};
    bool heard_no{false};  // the adapter's check was asked of a channel without a tip
    std::uint32_t first{UINT32_MAX}, last{};  // sequences
    std::optional<Channel> landed{};          // the needle that came down last
  };
  [[nodiscard]] const RoundProofs* round_of(std::size_t placement, Channel channel) const;
  [[nodiscard]] const RoundProofs* stand_of(std::size_t placement, Channel channel) const;
  [[nodiscard]] const RoundProofs* kept(std::size_t placement, Channel channel) const;
  void settle_round(std::size_t round);
  void settle_stands(std::size_t round);
  void tell_stand(std::size_t placement, Channel needle, RoundProofs& stand) const;
  void tell_round(std::size_t placement, RoundProofs& round) const;
  static void prove(Touches& touches, int row, Channel channel, std::uint32_t sequence);
  static void meet(const plan::Step& step, const plan::Reading& reading, Touches& touches);
  void settle(std::size_t placement);
  void note_rework();
  void hear(std::size_t placement);
  void take_anew(Placed& placed);
  [[nodiscard]] plan::Step fresh(const plan::Step& step) const;
  [[nodiscard]] bool has_stale(const plan::Step& step) const;
  void take_in(Placed& placed, std::size_t block);
  void take_in(const plan::Step& step, const plan::Reading& reading, Said& said) const;
  [[nodiscard]] bool against_own_twin(std::size_t placement, Channel channel,
                                      const std::vector<Channel>& against) const;
  [[nodiscard]] bool can_say_no(std::size_t placement) const;
  void take_loaded(const plan::Step& step, const plan::Reading& reading, Said& said) const;
  void take_contact(const plan::Step& step, const plan::Reading& reading, Said& said) const;
  [[nodiscard]] bool reads_nothing(const plan::Reading& reading) const;
  [[nodiscard]] bool too_little(const plan::Step& step, const plan::Reading& reading) const;
  void take_continuity(const plan::Step& step, const plan::Reading& reading, Said& said) const;

  const plan::Plan& plan_;
  std::vector<Placed> placed_;
  std::set<std::size_t> fresh_;              // placements
  std::map<PointId, std::size_t> reworked_;  // placements before that one are stale
  std::map<std::size_t, RoundProofs> rounds_;
  // A needle that stands while another walks is a clip for so long: (placement, channel) to the
  // placement at which it came down, and what its landings say together from there.
  using Stand = std::pair<std::size_t, Channel>;
  std::map<Stand, std::size_t> stands_;
  std::map<Stand, RoundProofs> standing_;
  std::set<std::size_t> bad_blocks_;
};

// Between a limit and a statement about it lie two standard deviations of the reading (guarded
// acceptance and rejection, JCGM 106:2012, 8.3, with U = 2u; from memory). What falls between is
// neither low nor high, and so is doubt; so is a resistance below zero by more than three.
bool is_low(const plan::Reading& reading, Ohms limit);   // surely within the limit
bool is_high(const plan::Reading& reading, Ohms limit);  // over-range, or surely beyond it
// Conducts as two tips on tarnished copper do: enough to prove that they touch, and too little to
// say anything of the copper between. Never less than `limit`.
bool touches_metal(const plan::Reading& reading, Ohms limit);
inline constexpr double kGuard = 2, kBelowZero = 3;

}  // namespace isthmus::diagnose
