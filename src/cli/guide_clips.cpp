// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <filesystem>

#include "cli/guide.hpp"
#include "cli/terminal.hpp"
#include "isthmus/report/hand.hpp"

namespace isthmus::cli {
namespace {

using formats::PlacementEntry;
using formats::ProbeEntry;

Problem at_clip(const std::string& file, const ProbeEntry& clip, const Problem& why) {
  Problem p = why;
  p.file = file;
  p.line = clip.line;
  p.column = clip.column;
  return p;
}

// The point on the side of the clip's body, else on the other.
Result<plan::HandClip> clip_of(const expect::Board& board, const std::string& file,
                               formats::Channel channel, const ProbeEntry& entry) {
  plan::HandClip clip;
  clip.channel = channel;
  if (entry.point.empty())
    return at_clip(file, entry,
                   {"", 0, 0, "HND-005", "a clip needs a point by name", "{point: J1.1}", ""});
  const Side first = entry.side.value_or(Side::both) == Side::bottom ? Side::bottom : Side::top;
  auto point = expect::find_point(board.expectation, entry.point, first);
  if (!point) return at_clip(file, entry, point.problem());
  clip.point = *point;
  const Side own = board.expectation.point(*point).side;
  clip.side = entry.side.value_or(own);
  clip.from = entry.from.value_or(clip.side == Side::both ? Side::bottom : clip.side);
  return clip;
}

Result<Done> read_clips(const expect::Board& board, const std::string& file, plan::ClipWish& wish) {
  auto fixture = formats::read_fixture_file(file);
  if (!fixture) return fixture.problem();
  const std::string stage{name(board.expectation.stage)};
  if ((!fixture->made_for_hash.empty() && fixture->made_for_hash != board.hash) ||
      (!fixture->made_for_stage.empty() && fixture->made_for_stage != stage))
    return Problem{file,
                   0,
                   0,
                   "HND-007",
                   "these clips were made for another board or stage",
                   "have them proposed anew, or correct made-for",
                   ""};
  const auto by_hand = std::ranges::find_if(
      fixture->placements, [](const PlacementEntry& p) { return !p.needles.empty(); });
  if (by_hand == fixture->placements.end())
    return Problem{
        file, 0, 0, "HND-006", "no placement of this fixture has needles", "needles: [15, 16]", ""};
  for (const auto& [channel, entry] : by_hand->probes) {
    if (!entry.clip) continue;
    auto clip = clip_of(board, file, channel, entry);
    if (!clip) return clip.problem();
    wish.fixed.push_back(*clip);
  }
  return Done{};
}

formats::FixtureFile fixture_of(const expect::Board& board, const GuideOptions& o,
                                const plan::HandPlan& plan) {
  formats::FixtureFile f;
  f.channels = o.means.channels;
  f.contact_check = o.means.contact_check;
  f.tip_diameter = from_mm(0.1);
  f.made_for_board = board.design.board.name;
  f.made_for_stage = name(board.expectation.stage);
  f.made_for_hash = board.hash;
  for (const plan::Round& round : plan.rounds) {
    PlacementEntry entry;
    entry.name = "round " + std::to_string(f.placements.size() + 1);
    for (const plan::Needle& n : round.needles) entry.needles.push_back({n.channel, n.fork});
    for (const plan::HandClip& c : round.clips) {
      ProbeEntry clip;
      clip.point = board.expectation.point(c.point).id;
      clip.side = c.side;
      clip.from = c.from;
      clip.clip = true;
      entry.probes.emplace(c.channel, clip);
    }
    f.placements.push_back(std::move(entry));
  }
  return f;
}

Result<Done> write_sheets(const expect::Board& board, const std::string& wanted,
                          const plan::HandPlan& plan) {
  const std::filesystem::path path = wanted;
  for (std::size_t r = 0; r < plan.rounds.size(); ++r) {
    for (const Side side : {Side::top, Side::bottom}) {
      const auto& clips = plan.rounds[r].clips;
      if (std::ranges::none_of(clips, [&](const plan::HandClip& c) { return c.from == side; }))
        continue;
      const std::string suffix = "-" + std::to_string(r + 1) + "-" + std::string(name(side));
      const auto file =
          path.parent_path() / (path.stem().string() + suffix + path.extension().string());
      auto written =
          formats::write_whole_file(file, report::clip_sheet_svg(board, plan.rounds[r], side));
      if (!written) return written;
    }
  }
  return Done{};
}

}  // namespace

Result<plan::ClipWish> clip_wish(const expect::Board& board, const GuideOptions& o) {
  plan::ClipWish wish;
  for (const std::string& id : o.struck_out) {
    const std::size_t before = wish.struck_out.size();
    for (const Side side : {Side::top, Side::bottom}) {
      const auto point = expect::find_point(board.expectation, id, side);
      if (point)
        wish.struck_out.push_back(*point);
      else if (side == Side::bottom && wish.struck_out.size() == before)
        return point.problem();
    }
  }
  if (!o.clips.empty()) {
    if (auto read = read_clips(board, o.clips, wish); !read) return read.problem();
  }
  return wish;
}

Result<Done> write_clips(const expect::Board& board, const GuideOptions& o,
                         const plan::HandPlan& plan) {
  if (!o.save.empty()) {
    if (auto free = not_replacing(o.save, o.force); !free) return free;
    auto written =
        formats::write_whole_file(o.save, formats::write_fixture_file(fixture_of(board, o, plan)));
    if (!written) return written;
  }
  return o.sheet.empty() ? Result<Done>(Done{}) : write_sheets(board, o.sheet, plan);
}

}  // namespace isthmus::cli
