// SPDX-License-Identifier: Apache-2.0
#include "isthmus/adapter/instrument.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "adapter/lines.hpp"
#include "adapter/pipeline.hpp"
#include "adapter/reply.hpp"
#include "adapter/transports.hpp"

namespace isthmus::adapter {

struct Instrument::Wire {
  Lines lines;
  Levels levels{};
  std::uint32_t last_tag{0};
  std::optional<double> limit_a{};
  bool introduced{false};  // what did not turn out to be an adapter gets no commands
};

namespace {

constexpr int kMostAsked = 10;        // for two equal answers, on a link that garbles every third
constexpr Seconds kLayTime{60};       // a simulator solves the whole board anew
constexpr Seconds kSelfTestTime{60};  // every relay of 256 channels

struct Introduction {
  Identity identity;
  Capabilities capabilities;
};

// Two equal answers: these carry no checksum, a wrong digit would spoil a whole run, and a line
// may be a late answer to something else. Nothing where it stays silent.
Result<std::optional<std::string>> agreed_answer(Lines& lines, const std::string& query) {
  std::vector<std::string> heard;
  int silent = 0;
  for (int asked = 0; asked < kMostAsked && silent < kTries; ++asked) {
    if (auto sent = lines.send(query); !sent) return sent.problem();
    auto line = lines.next_line(after(kGrace));
    if (!line) return line.problem();
    if (!line.value()) {
      ++silent;
      if (auto quiet = lines.settle(); !quiet) return quiet.problem();
      continue;
    }
    silent = 0;
    if (std::ranges::find(heard, *line.value()) != heard.end())
      return std::optional(std::move(*line.value()));
    heard.push_back(std::move(*line.value()));
  }
  if (heard.empty()) return std::optional<std::string>();
  return link_problem("ADP-021",
                      fmt::format("the adapter answers {} with something else each time: {}", query,
                                  shown(heard.back())),
                      "a poor cable or hub is the usual cause");
}

Result<Introduction> introduce(Lines& lines) {
  if (auto quiet = lines.settle(); !quiet) return quiet.problem();
  if (auto cleared = lines.send("*CLS"); !cleared) return cleared.problem();
  auto name = agreed_answer(lines, "*IDN?");
  if (!name) return name.problem();
  if (!name.value()) {
    return link_problem("ADP-020", "nothing answers *IDN?",
                        "is the adapter switched on, and is this its port?");
  }
  auto identity = parse_identity(*name.value());
  if (!identity) return identity.problem();
  auto told = agreed_answer(lines, ":SYST:CAP?");
  if (!told) return told.problem();
  if (!told.value()) {
    return link_problem("ADP-023",
                        fmt::format("\"{} {}\" does not speak this program's contract",
                                    identity->maker, identity->model),
                        "it answers *IDN? but not SYST:CAP?; see docs/adapter.md");
  }
  auto capabilities = parse_capabilities(*told.value());
  if (!capabilities) return capabilities.problem();
  return Introduction{std::move(*identity), std::move(*capabilities)};
}

bool silent(const Problem& p) { return p.code == "ADP-020" || p.code == "ADP-023"; }

bool gone(const Problem& p) {
  return p.code == "ADP-010" || p.code == "ADP-011" || p.code == "ADP-012" || p.code == "ADP-013";
}

void check(const Request& r, const Capabilities& c) {
  const int rows = c.wires == 4 ? 4 : 2;
  ENSURE(r.tag >= 1 && r.tag <= 2147483647u);
  ENSURE(std::ranges::all_of(r.closed, [&](const Crosspoint& x) {
    return x.row >= 1 && x.row <= rows && x.channel >= 1 && x.channel <= c.channels;
  }));
  ENSURE(r.reference >= 0 && static_cast<std::size_t>(r.reference) <= c.references.size());
  ENSURE(r.what != Measure::four_wire || c.wires == 4);
  ENSURE(r.what != Measure::contact || (c.contact_check && r.closed.size() == 1));
  ENSURE(r.what != Measure::isolation || (r.volts.value > 0 && r.volts.value <= c.voltage_v));
}

// "text" without its quotes, doubled ones made single; nothing when it is no string.
std::optional<std::string> unquoted(std::string_view text) {
  if (text.size() < 2 || text.front() != '"' || text.back() != '"') return std::nullopt;
  text = text.substr(1, text.size() - 2);
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '"' && ++i == text.size()) return std::nullopt;
    out += text[i];
  }
  return out;
}

Problem refused(const std::string& what, const std::string& answer) {
  return link_problem("ADP-026", fmt::format("the adapter refuses {}: {}", what, shown(answer)));
}

}  // namespace

Instrument::Instrument(std::unique_ptr<ByteStream> stream)
    : wire_(std::make_unique<Wire>(Wire{Lines(std::move(stream))})) {}

Instrument::~Instrument() {
  // Best effort: a link that is gone needs no goodbye, and nobody waits for one that is slow.
  if (!wire_->introduced) return;
  if (!wire_->lines.send("\n*RST;:ROUT:CLOS:STAT?")) return;
  for (int i = 0; i < 3; ++i) {
    const auto line = wire_->lines.next_line(after(Seconds{0.3}));
    if (!line || !line.value() || *line.value() == "(@)") return;
  }
}

Result<std::unique_ptr<Instrument>> Instrument::connect(std::unique_ptr<ByteStream> stream) {
  std::unique_ptr<Instrument> out(new Instrument(std::move(stream)));
  Lines& lines = out->wire_->lines;
  for (int attempt = 1;; ++attempt) {
    auto known = introduce(lines);
    if (!known && (attempt == kTries || gone(known.problem()) || silent(known.problem()))) {
      return known.problem();
    }
    if (!known) continue;
    out->identity_ = known->identity;
    out->capabilities_ = known->capabilities;
    out->most_a_ = known->capabilities.source_a;
    out->wire_->introduced = true;
    break;
  }
  if (auto fresh = lines.resynchronise(Seconds{0}); !fresh) return fresh.problem();
  if (auto opened = out->open_all(); !opened) return opened.problem();
  return out;
}

std::uint32_t Instrument::next_tag() const { return wire_->last_tag + 1; }

Result<Done> Instrument::carry_out(std::span<const Request> requests,
                                   const std::function<void(std::size_t, const Answer&)>& arrived) {
  for (const Request& request : requests) {
    check(request, capabilities_);
    ENSURE(request.tag > wire_->last_tag);
    wire_->last_tag = request.tag;
  }
  return Pipeline(wire_->lines, wire_->levels, {capabilities_, wire_->limit_a})
      .carry_out(requests, arrived);
}

Result<Done> Instrument::limit_current(Amperes most) {
  ENSURE(most.value > 0);
  if (most.value < capabilities_.source_a) {
    capabilities_.source_a = most.value;
    wire_->limit_a = most.value;
  }
  most_a_ = std::min(most_a_, most.value);
  return Done{};
}

void Instrument::drive(Amperes most) {
  ENSURE(most.value > 0);
  capabilities_.source_a = std::min(most.value, most_a_);
  wire_->limit_a = capabilities_.source_a;
}

Result<Done> Instrument::still_the_same() {
  std::string said;
  for (int attempt = 0; attempt < kTries; ++attempt) {
    auto answer = wire_->lines.ask("*IDN?", Seconds{1});
    if (!answer) return answer.problem();
    said = answer.value();
    const auto identity = parse_identity(said);
    if (identity && *identity == identity_) return Done{};
    if (auto again = wire_->lines.resynchronise(Seconds{0}); !again) return again.problem();
  }
  return link_problem(
      "ADP-029",
      fmt::format("another adapter answers than {} {}, number {}: {}", identity_.maker,
                  identity_.model, identity_.serial_number, shown(said)),
      "connect the first again and start with --resume, or measure anew with this one");
}

Result<Done> Instrument::open_all() {
  wire_->levels.forget();
  std::string closed;
  for (int attempt = 0; attempt < kTries; ++attempt) {
    auto answer = wire_->lines.ask("*RST;:ROUT:CLOS:STAT?", Seconds{1});
    if (!answer) return answer.problem();
    closed = answer.value();
    if (closed == "(@)") return Done{};
    if (auto again = wire_->lines.resynchronise(Seconds{0}); !again) return again.problem();
  }
  return link_problem("ADP-027", "switches do not open: " + shown(closed),
                      "take the probes off the board; the adapter needs repair");
}

Result<int> Instrument::self_test() {
  auto answer = wire_->lines.ask("*TST?", kSelfTestTime);
  if (!answer) return answer.problem();
  const auto number = parse_integer(answer.value());
  if (!number || *number < -32767 || *number > 32767)
    return refused("its self-test", answer.value());
  wire_->levels.forget();
  return static_cast<int>(*number);
}

Result<std::vector<std::string>> Instrument::errors() {
  std::vector<std::string> out;
  constexpr int kMost = 100;
  for (int i = 0; i < kMost; ++i) {
    auto answer = wire_->lines.ask(":SYST:ERR?", Seconds{0});
    if (!answer) return answer.problem();
    const auto comma = answer->find(',');
    const auto number = parse_integer(std::string_view(*answer).substr(0, comma));
    if (!number) return refused("to tell its errors", *answer);
    if (*number == 0) break;
    out.push_back(*answer);
  }
  return out;
}

Result<Done> Instrument::lay_simulated(const std::string& placement) {
  ENSURE(capabilities_.simulated);
  std::string quoted;
  for (const char c : placement) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  if (auto cleared = wire_->lines.send("*CLS"); !cleared) return cleared.problem();
  auto answer = wire_->lines.ask(":SIM:PLAC \"" + quoted + "\";:SYST:ERR?", kLayTime);
  if (!answer) return answer.problem();
  if (answer->starts_with("0,") || answer->starts_with("+0,")) return Done{};
  return refused("the placement \"" + placement + "\"", *answer);
}

Result<bool> Instrument::lift_simulated() {
  ENSURE(capabilities_.simulated);
  if (auto cleared = wire_->lines.send("*CLS"); !cleared) return cleared.problem();
  const auto answer = wire_->lines.ask(":SIM:PLAC \"\";:SYST:ERR?", kLayTime);
  if (!answer) return answer.problem();
  return answer->starts_with("0,") || answer->starts_with("+0,");
}

Result<bool> Instrument::wait_simulated(Seconds time) {
  ENSURE(capabilities_.simulated);
  if (auto cleared = wire_->lines.send("*CLS"); !cleared) return cleared.problem();
  const auto answer =
      wire_->lines.ask(":SIM:WAIT " + std::to_string(time.count()) + ";:SYST:ERR?", kLayTime);
  if (!answer) return answer.problem();
  return answer->starts_with("0,") || answer->starts_with("+0,");
}

Result<std::vector<std::string>> Instrument::simulated_hashes() {
  ENSURE(capabilities_.simulated);
  // Without a checksum; what is no string was garbled, or an answer to something else.
  std::optional<std::string> text;
  for (int attempt = 1; !text; ++attempt) {
    auto answer = wire_->lines.ask(":SIM:HASH?", Seconds{1});
    if (!answer) return answer.problem();
    text = unquoted(*answer);
    if (!text && attempt == kTries) return refused("to tell its files' hashes", *answer);
  }
  std::vector<std::string> out;
  for (std::size_t at = 0; at < text->size();) {
    const auto comma = std::min(text->find(',', at), text->size());
    out.push_back(text->substr(at, comma - at));
    at = comma + 1;
  }
  return out;
}

}  // namespace isthmus::adapter
