// SPDX-License-Identifier: Apache-2.0
#include "hostsim/usb/usbtmc_device.hpp"

#include <algorithm>
#include <utility>

#include "isthmus/base/ensure.hpp"

namespace isthmus::hostsim {
namespace {

constexpr std::size_t kHeader = 12;
constexpr std::uint8_t kOut = 1, kIn = 2;                 // MsgID, Table 2
constexpr std::uint8_t kSuccess = 0x01, kPending = 0x02;  // USBTMC_status, Table 16
constexpr std::uint8_t kFailed = 0x80, kNotInProgress = 0x81;
constexpr std::uint8_t kToInterface = 0xA1,
                       kToEndpoint = 0xA2;  // bmRequestType: class, to the host
constexpr int kMessageAvailable = 0x10;

std::size_t aligned(std::size_t size) { return (size + 3) / 4 * 4; }

std::vector<std::uint8_t> counted(std::uint8_t status, std::uint8_t more, std::uint32_t bytes) {
  const auto byte = [bytes](unsigned shift) {
    return static_cast<std::uint8_t>((bytes >> shift) & 0xff);
  };
  return {status, more, 0, 0, byte(0), byte(8), byte(16), byte(24)};
}

// Table 37 and USB488, Table 8. No indicator, no termination character; understands SCPI; does not
// claim the message exchange of IEEE 488.2, in which a new message would void an unread answer.
std::vector<std::uint8_t> capabilities() {
  std::vector<std::uint8_t> out(24, 0);
  out[0] = kSuccess;
  out[3] = 0x01;   // bcdUSBTMC 1.00
  out[13] = 0x01;  // bcdUSB488 1.00
  out[15] = 0x08;
  return out;
}

}  // namespace

bool UsbtmcDevice::packet(std::span<const std::uint8_t> bytes) {
  return incoming_ ? body(bytes) : header(bytes);
}

bool UsbtmcDevice::header(std::span<const std::uint8_t> bytes) {
  if (bytes.size() < kHeader) return false;
  const std::uint8_t tag = bytes[1];
  if (tag == 0 || bytes[2] != static_cast<std::uint8_t>(~tag)) return false;
  std::size_t size = 0;
  for (std::size_t i = 0; i < 4; ++i) size |= std::size_t{bytes[4 + i]} << (8 * i);
  if (size == 0) return false;
  if (bytes[0] == kIn) {
    const bool wants_termination_character = (bytes[8] & 2) != 0;
    if (bytes.size() != kHeader || request_ || wants_termination_character) return false;
    request_ = Request{tag, size};
    return true;
  }
  if (bytes[0] != kOut) return false;
  incoming_ = Incoming{tag, size, aligned(size), {}};
  received_ = 0;
  return body(bytes.subspan(kHeader));
}

bool UsbtmcDevice::body(std::span<const std::uint8_t> bytes) {
  if (bytes.size() > incoming_->padded) {
    incoming_.reset();
    return false;
  }
  const std::size_t n = std::min(bytes.size(), incoming_->payload);
  incoming_->bytes.append(bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(n));
  received_ += static_cast<std::uint32_t>(n);
  incoming_->payload -= n;
  incoming_->padded -= bytes.size();
  if (incoming_->padded > 0) return true;
  input_ += incoming_->bytes;
  incoming_.reset();
  return true;
}

std::optional<std::vector<std::uint8_t>> UsbtmcDevice::control(const ControlSetup& s) {
  using Answer = std::vector<std::uint8_t>;
  const auto tag = static_cast<std::uint8_t>(s.value & 0xff);
  if (s.type == kToEndpoint && s.index == kBulkOutAddress) {
    if (s.request == 1) return abort_out(tag);
    if (s.request == 2) return counted(kSuccess, 0, received_);
  }
  if (s.type == kToEndpoint && s.index == kBulkInAddress) {
    if (s.request == 3) return abort_in(tag);
    if (s.request == 4) {
      const bool more = in_flight_ || end_;
      return counted(more ? kPending : kSuccess, more ? 1 : 0, sent_);
    }
  }
  if (s.type != kToInterface) return std::nullopt;
  switch (s.request) {
    case 5:
      clear();
      return Answer{kSuccess};
    case 6:
      return Answer{in_flight_ ? kPending : kSuccess, 0};
    case 7:
      return capabilities();
    case 128: {
      if (tag < 2 || tag > 127) return std::nullopt;
      const int byte = status_byte_ | (output_.empty() ? 0 : kMessageAvailable);
      return Answer{kSuccess, tag, static_cast<std::uint8_t>(byte)};
    }
    default:
      return std::nullopt;
  }
}

std::vector<std::uint8_t> UsbtmcDevice::abort_out(std::uint8_t tag) {
  if (!incoming_) return {kFailed, 0};
  if (incoming_->tag != tag) return {kNotInProgress, incoming_->tag};
  incoming_.reset();
  return {kSuccess, tag};
}

// 4.2.1.4: the transfer is ended by a short packet as soon as may be.
std::vector<std::uint8_t> UsbtmcDevice::abort_in(std::uint8_t tag) {
  if (!request_) return {kFailed, 0};
  if (request_->tag != tag) return {kNotInProgress, request_->tag};
  request_.reset();
  sent_ = 0;
  stop_ = in_flight_;
  end_ = true;
  return {kSuccess, tag};
}

void UsbtmcDevice::clear() {
  input_.clear();
  output_.clear();
  incoming_.reset();
  request_.reset();
  cleared_ = true;
  under_way_ = 0;
  stop_ = in_flight_;
  end_ = false;
}

std::string UsbtmcDevice::take_input() { return std::exchange(input_, {}); }
bool UsbtmcDevice::take_cleared() { return std::exchange(cleared_, false); }

std::optional<std::vector<std::uint8_t>> UsbtmcDevice::begin_in() {
  if (in_flight_) return std::nullopt;
  if (end_) {
    end_ = false;
    in_flight_ = true;
    under_way_ = 0;
    return std::vector<std::uint8_t>();
  }
  if (!request_ || output_.empty()) return std::nullopt;
  const std::size_t line = std::min(output_.find('\n'), output_.size() - 1) + 1;
  under_way_ = std::min(line, request_->most);
  const bool ends = output_[under_way_ - 1] == '\n';
  const auto size = [this](unsigned shift) {
    return static_cast<std::uint8_t>((under_way_ >> shift) & 0xff);
  };
  std::vector<std::uint8_t> out{
      kIn,      request_->tag, static_cast<std::uint8_t>(~request_->tag), 0, size(0), size(8),
      size(16), size(24),      static_cast<std::uint8_t>(ends ? 1 : 0),   0, 0,       0};
  out.insert(out.end(), output_.begin(), output_.begin() + static_cast<std::ptrdiff_t>(under_way_));
  out.resize(aligned(out.size()));
  in_flight_ = true;
  return out;
}

void UsbtmcDevice::in_done() {
  ENSURE(in_flight_);
  in_flight_ = stop_ = false;
  output_.erase(0, under_way_);
  if (under_way_ > 0) {
    request_.reset();
    end_ = false;  // it ended with a short packet of its own
  }
  sent_ = static_cast<std::uint32_t>(under_way_);
  under_way_ = 0;
}

bool UsbtmcDevice::take_stop() { return std::exchange(stop_, false); }

// How much of it the host has is not known: its bytes are void.
void UsbtmcDevice::in_stopped() {
  ENSURE(in_flight_);
  in_flight_ = stop_ = false;
  output_.erase(0, under_way_);
  under_way_ = 0;
}

void UsbtmcDevice::reset() {
  clear();
  in_flight_ = stop_ = false;
}

}  // namespace isthmus::hostsim
