// SPDX-License-Identifier: Apache-2.0
// What each command does.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "hostsim/device/device.hpp"

namespace isthmus::hostsim {
namespace {

constexpr double kLongestWaitSeconds = 10;

std::string short_number(double x) {  // "0.1", "1E+07"
  std::string text = fmt::format("{:.6G}", x);
  const std::size_t plus = text.find("E+0");
  if (plus != std::string::npos) text.replace(plus, 3, "E");
  return text;
}

std::string in_quotes(const std::string& text) { return "\"" + text + "\""; }

bool has_row(const std::vector<Crosspoint>& points, int row) {
  return std::any_of(points.begin(), points.end(),
                     [&](const Crosspoint& p) { return p.row == row; });
}

}  // namespace

const std::vector<Device::Command>& Device::commands() {
  static const std::vector<Command> kTable{
      {"*IDN", true, "", &Device::identify},
      {"*RST", false, "", &Device::reset},
      {"*CLS", false, "", &Device::clear},
      {"*ESR", true, "", &Device::event_status},
      {"*ESE", false, "n", &Device::set_event_enable},
      {"*ESE", true, "", &Device::event_enable},
      {"*SRE", false, "n", &Device::set_service_enable},
      {"*SRE", true, "", &Device::service_enable},
      {"*STB", true, "", &Device::status_byte},
      {"*OPC", false, "", &Device::operation_complete},
      {"*OPC", true, "", &Device::is_operation_complete},
      {"*WAI", false, "", &Device::wait_to_continue},
      {"*TST", true, "", &Device::self_test},
      {"SYSTem:ERRor[:NEXT]", true, "", &Device::next_error},
      {"SYSTem:VERSion", true, "", &Device::version},
      {"SYSTem:CAPability", true, "", &Device::capability},
      {"SYSTem:TAG", false, "n", &Device::tag},
      {"ROUTe:CLOSe", false, "l", &Device::close},
      {"ROUTe:OPEN", false, "l", &Device::open},
      {"ROUTe:OPEN:ALL", false, "", &Device::open_all},
      {"ROUTe:CLOSe:STATe", true, "", &Device::closed_state},
      {"ROUTe:REFerence", false, "n", &Device::reference},
      {"SOURce:CURRent[:LEVel]", false, "n", &Device::set_current},
      {"SOURce:CURRent[:LEVel]", true, "", &Device::current},
      {"SOURce:VOLTage[:LEVel]", false, "n", &Device::set_voltage},
      {"SOURce:VOLTage[:LEVel]", true, "", &Device::voltage},
      {"MEASure:RESistance", true, "", &Device::measure_resistance},
      {"MEASure:FRESistance", true, "", &Device::measure_four_wire},
      {"MEASure:ISOLation", true, "n", &Device::measure_isolation},
      {"MEASure:CONTact", true, "", &Device::measure_contact},
      {"MEASure:VOLTage", true, "", &Device::measure_voltage},
      {"SIMulate:PLACement", false, "s", &Device::placement},
      {"SIMulate:HASHes", true, "", &Device::hashes},
      {"SIMulate:TIMe", true, "", &Device::time},
      {"SIMulate:WAIt", false, "n", &Device::pass_time},
  };
  return kTable;
}

void Device::identify(const Unit&) {
  answer(fmt::format("Isthmus Simulated Bench,Mux-{},{},1.0", instrument_.channels(),
                     serial_number()));
}

std::string Device::serial_number() const { return fmt::format("SIM{:04}", seed_ % 10000); }

void Device::reset(const Unit&) {
  instrument_.reset();
  tag_ = 0;
}

void Device::clear(const Unit&) { status_.clear(); }
void Device::event_status(const Unit&) { answer(std::to_string(status_.take_event_status())); }
void Device::event_enable(const Unit&) { answer(std::to_string(status_.event_enable)); }
void Device::service_enable(const Unit&) { answer(std::to_string(status_.service_enable)); }
void Device::status_byte(const Unit&) {
  answer(std::to_string(status_.status_byte(!answers_.empty())));
}
void Device::operation_complete(const Unit&) { status_.operation_complete(); }
void Device::is_operation_complete(const Unit&) { answer("1"); }
void Device::wait_to_continue(const Unit&) {}  // every command is finished before the next begins

void Device::set_event_enable(const Unit& unit) {
  long value = 0;
  if (whole(unit, 0, 255, value)) status_.event_enable = static_cast<int>(value);
}

void Device::set_service_enable(const Unit& unit) {
  long value = 0;
  if (whole(unit, 0, 255, value)) status_.service_enable = static_cast<int>(value) & ~0x40;
}

// The drivers' read-back is all a self-test without a board can see of the relays.
void Device::self_test(const Unit&) {
  const bool bad = std::any_of(draw_.stuck.begin(), draw_.stuck.end(),
                               [](const StuckSwitch& s) { return s.seen; });
  answer(bad ? "1" : "0");
}

void Device::next_error(const Unit&) { answer(status_.next_error()); }
void Device::version(const Unit&) { answer("1999.0"); }

void Device::capability(const Unit&) {
  std::string references;
  for (const double ohm : draw_.references) {
    references += (references.empty() ? "" : "|") + short_number(ohm);
  }
  std::string text = fmt::format("CONTRACT 1;CHANNELS {};WIRES {};CONTACT {}",
                                 instrument_.channels(), draw_.wires, draw_.contact_check ? 1 : 0);
  if (!references.empty()) text += ";REFERENCES " + references;
  text += fmt::format(
      ";SOURCE {};VOLTAGE {};OHMS {};LEAKAGE {};NOISE {};SETTLE {};CONVERT {};BUFFER {}",
      short_number(draw_.source_a), short_number(draw_.source_v),
      short_number(instrument_.largest_ohms()), short_number(draw_.switch_leak_a),
      short_number(draw_.noise_v), short_number(draw_.settle_s), short_number(draw_.convert_s),
      draw_.buffer);
  answer(in_quotes(text + ";SIMULATED 1"));
}

void Device::tag(const Unit& unit) {
  if (!whole(unit, 1, 2147483647, tag_)) return;
  instrument_.begin_step();
}

bool Device::check_read_back() {
  if (!instrument_.read_back_differs()) return true;
  raise(-240, "a switch's read-back is not what was commanded");
  return false;
}

void Device::close(const Unit& unit) {
  std::vector<Crosspoint> points;
  if (!crosspoints(unit, points)) return;
  instrument_.close(points);
  check_read_back();
}

void Device::open(const Unit& unit) {
  std::vector<Crosspoint> points;
  if (!crosspoints(unit, points)) return;
  instrument_.open(points);
  check_read_back();
}

void Device::open_all(const Unit&) {
  instrument_.open_all();
  check_read_back();
}

void Device::closed_state(const Unit&) { answer(canonical_list(instrument_.closed())); }

void Device::reference(const Unit& unit) {
  long k = 0;
  if (whole(unit, 0, static_cast<long>(draw_.references.size()), k)) {
    instrument_.set_reference(static_cast<int>(k));
  }
}

void Device::set_current(const Unit& unit) {
  const double x = unit.arguments[0].number;
  if (!(x > 0 && x <= draw_.source_a)) return raise(-222, "current");
  instrument_.source_amps = x;
}

void Device::set_voltage(const Unit& unit) {
  const double x = unit.arguments[0].number;
  if (!(x > 0 && x <= draw_.source_v)) return raise(-222, "voltage");
  instrument_.source_volts = x;
}

void Device::current(const Unit&) { answer(fmt::format("{:+.6E}", instrument_.source_amps)); }
void Device::voltage(const Unit&) { answer(fmt::format("{:+.6E}", instrument_.source_volts)); }

void Device::answer_reading(const Reading& reading) {
  answer(reading_text(tag_, instrument_.closed(), reading));
}

void Device::refuse_reading(int number, const std::string& detail) {
  raise(number, detail);
  answer_reading({kNoReading, kStatusNotDone});
}

// False after it has answered for a reading that must not be taken.
bool Device::circuit_allowed() {
  const auto& points = instrument_.commanded();
  for (const Crosspoint& p : points) {
    const Crosspoint other{2, p.channel};
    if (p.row == 1 && std::binary_search(points.begin(), points.end(), other)) {
      refuse_reading(-221, fmt::format("source and return on channel {}", p.channel));
      return false;
    }
  }
  if (instrument_.read_back_differs()) {
    refuse_reading(-240, "a switch's read-back is not what was commanded");
    return false;
  }
  return true;
}

void Device::measure_resistance(const Unit&) {
  if (circuit_allowed()) answer_reading(instrument_.two_wire());
}

void Device::measure_four_wire(const Unit&) {
  if (draw_.wires != 4) return refuse_reading(-221, "two wires");
  for (int row = 1; row <= 4 && instrument_.reference() == 0; ++row) {
    if (!has_row(instrument_.commanded(), row)) {
      return refuse_reading(-221, fmt::format("row {} is empty", row));
    }
  }
  if (circuit_allowed()) answer_reading(instrument_.four_wire());
}

void Device::measure_isolation(const Unit& unit) {
  const double threshold = unit.arguments[0].number;
  if (!(threshold > 0 && std::isfinite(threshold))) return refuse_reading(-222, "threshold");
  if (circuit_allowed()) answer_reading(instrument_.isolation(threshold));
}

void Device::measure_contact(const Unit&) {
  if (!draw_.contact_check) return refuse_reading(-113, "no contact check");
  const auto& points = instrument_.commanded();
  if (points.size() != 1 || points[0].row > 2) {
    return refuse_reading(-221, "exactly one crosspoint in row 1 or 2 is wanted");
  }
  if (circuit_allowed()) answer_reading(instrument_.contact());
}

void Device::measure_voltage(const Unit&) {
  if (circuit_allowed()) answer_reading(instrument_.volts());
}

void Device::placement(const Unit& unit) {
  const std::string& name = unit.arguments[0].text;
  if (hand_ && hand_->at_work()) {
    if (!name.empty()) return raise(-222, "the probes are in somebody's hands");
    instrument_.open_all();
    return hand_->take_off(instrument_.seconds());
  }
  Result<Laid> laid = name.empty() ? Result<Laid>(bench_.lifted()) : bench_.lay(name);
  if (!laid) return raise(-222, laid.problem().message);
  instrument_.open_all();
  instrument_.lay(std::move(laid).value());
}

void Device::hashes(const Unit&) {
  std::string text;
  for (const std::string& hash : bench_.hashes()) text += (text.empty() ? "" : ",") + hash;
  answer(in_quotes(text));
}

void Device::pass_time(const Unit& unit) {
  const double seconds = unit.arguments[0].number;
  if (!(seconds >= 0 && seconds <= kLongestWaitSeconds)) return raise(-222, "seconds");
  instrument_.wait(seconds);
  if (hand_) hand_->pass(instrument_.seconds());
}

void Device::time(const Unit&) { answer(fmt::format("{:.6f}", instrument_.seconds())); }

}  // namespace isthmus::hostsim
