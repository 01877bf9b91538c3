// SPDX-License-Identifier: Apache-2.0
#include "formats/import/judge.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace isthmus::formats {
namespace {

void take(const Claim& c, Recognised& r) {
  r.role = c.role;
  r.side = c.side;
  r.layer = c.role == FileRole::copper && c.side == Side::top ? 1 : c.layer;
  r.other_known = c.not_ours;
  r.bare = c.bare;
}

void doubt(const Claim& c, std::string why, Recognised& r) {
  take(Claim(), r);
  r.doubted = c.role;
  r.doubted_side = c.side;
  r.doubt = r.why = std::move(why);
}

std::string reads(const TextClaim& t) { return "its text reads '" + t.text + "'"; }

// The name claims copper that the text says is something else.
void against_copper(const Claim& named, const TextClaim& text, Recognised& r) {
  take(text.claim, r);
  r.why = fmt::format("named like {}, but {}", described(named), reads(text));
  if (named.bare) return;  // the text is simply the more telling
  r.doubt = r.why;
  r.doubted = named.role;
  r.doubted_side = named.side;
}

std::vector<Claim> claims_of(const std::vector<std::filesystem::path>& files,
                             const std::vector<NameWords>& words) {
  std::vector<Claim> out;
  for (std::size_t i = 0; i < files.size(); ++i) {
    const NameClaim named = claim_of_name(files[i], words[i]);
    out.push_back(named.contradiction.empty() ? named.claim : Claim());
  }
  return out;
}

// How many different layers the claims tell.
std::size_t told_apart(const std::vector<Claim>& claims) {
  std::vector<Claim> seen;
  for (const Claim& c : claims) {
    const auto same = [&](const Claim& s) { return s.same_as(c); };
    if (c.role != FileRole::other && std::ranges::none_of(seen, same)) seen.push_back(c);
  }
  return seen.size();
}

std::size_t shared_words(const std::vector<NameWords>& all) {
  std::size_t n = all[0].size();
  for (const NameWords& w : all) {
    n = std::min(n,
                 static_cast<std::size_t>(std::ranges::mismatch(all[0], w).in1 - all[0].begin()));
  }
  return n;
}

}  // namespace

void judge(const NameClaim& name, const TextClaim& text, Recognised& r) {
  const Claim& named = name.claim;
  const bool text_says = text.strong && text.claim.says();
  const bool text_copper = text_says && text.claim.role == FileRole::copper;
  if (!name.contradiction.empty()) return doubt(named, name.contradiction, r);
  if (!named.says() && text.claim.says()) {
    take(text.claim, r);
    r.why = reads(text);
    r.by_comment = true;
    return;
  }
  if (named.role == FileRole::copper && text_says && !text_copper) {
    return against_copper(named, text, r);
  }
  const bool sided = named.side != Side::both && text.claim.side != Side::both;
  if (named.role == FileRole::copper && text_copper && sided && named.side != text.claim.side) {
    return doubt(named, fmt::format("its name says {}, but {}", described(named), reads(text)), r);
  }
  take(named, r);
  r.bare = named.bare && !(text_copper && !text.claim.bare);
  r.why = named.role != FileRole::other ? "named like " + described(named)
          : named.not_ours              ? "named like " + described(named)
                                        : "neither it nor its name says which layer it is";
  if (named.says() && named.role != FileRole::copper && text_copper && !text.claim.bare) {
    r.doubt = fmt::format("{}, but {}", r.why, reads(text));
    r.doubted = text.claim.role;
    r.doubted_side = text.claim.side;
  }
}

std::vector<NameWords> telling_words(const std::vector<std::filesystem::path>& files) {
  std::vector<NameWords> full;
  for (const auto& f : files) full.push_back(name_words(f.stem().string()));
  if (full.size() < 2) return full;
  const std::size_t shared = shared_words(full);
  if (shared == 0) return full;
  std::vector<NameWords> rest;
  for (const NameWords& w : full) {
    rest.emplace_back(w.begin() + static_cast<std::ptrdiff_t>(shared), w.end());
  }
  const std::vector<Claim> with = claims_of(files, full), without = claims_of(files, rest);
  // Paste for two sides would be copper without its word: something else must be told apart, too.
  const bool others = std::ranges::any_of(
      without, [](const Claim& c) { return c.says() && c.role != FileRole::copper; });
  return others && told_apart(without) > told_apart(with) ? rest : full;
}

}  // namespace isthmus::formats
