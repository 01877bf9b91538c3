// SPDX-License-Identifier: Apache-2.0
#include "formats/gerber/attributes.hpp"

#include <fmt/format.h>

#include <charconv>

namespace isthmus::formats::gerber {
namespace {

// Longer than any net list of a real object; with all sets of attributes kept within some 200 MB.
constexpr std::size_t kMaxAttribute = 10'000;
constexpr std::size_t kMaxAttributeBytes = 100'000'000;

void append_utf8(std::string& out, std::uint32_t code) {
  const auto put = [&out](std::uint32_t byte) { out.push_back(static_cast<char>(byte)); };
  if (code < 0x80) {
    put(code);
  } else if (code < 0x800) {
    put(0xC0 | code >> 6);
    put(0x80 | (code & 0x3F));
  } else if (code < 0x10000) {
    put(0xE0 | code >> 12);
    put(0x80 | (code >> 6 & 0x3F));
    put(0x80 | (code & 0x3F));
  } else {
    put(0xF0 | code >> 18);
    put(0x80 | (code >> 12 & 0x3F));
    put(0x80 | (code >> 6 & 0x3F));
    put(0x80 | (code & 0x3F));
  }
}

// Code point of the escape at the start of `text` and its length; length 0: no valid escape.
std::pair<std::uint32_t, std::size_t> escape(std::string_view text) {
  if (text.size() < 2 || (text[1] != 'u' && text[1] != 'U')) return {0, 0};
  const std::size_t digits = text[1] == 'u' ? 4 : 8;
  if (text.size() < 2 + digits) return {0, 0};
  std::uint32_t code = 0;
  const char* end = text.data() + 2 + digits;
  const auto read = std::from_chars(text.data() + 2, end, code, 16);
  const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  if (read.ec != std::errc{} || read.ptr != end || code > 0x10FFFF || surrogate) return {0, 0};
  return {code, 2 + digits};
}

// Names may hold any character, U+0000 too: each is preceded by its length.
std::string key_of(const Attributes& a) {
  std::string key;
  const auto add = [&key](const std::string& text) {
    key += std::to_string(text.size()) + ':' + text;
  };
  key += a.nets ? std::to_string(a.nets->size()) : "-";
  key += ' ';
  if (a.nets) {
    for (const std::string& net : *a.nets) add(net);
  }
  add(a.component);
  add(a.pin);
  add(a.pin_function);
  add(a.aperture_function);
  return key;
}

}  // namespace

std::vector<std::string> attribute_fields(std::string_view text) {
  std::vector<std::string> fields(1);
  while (!text.empty()) {
    if (text.front() == '\\') {
      const auto [code, length] = escape(text);
      if (length > 0) {
        append_utf8(fields.back(), code);
        text.remove_prefix(length);
        continue;
      }
    }
    if (text.front() == ',') {
      fields.emplace_back();
    } else if (text.front() != '\n' && text.front() != '\r') {
      fields.back().push_back(text.front());
    }
    text.remove_prefix(1);
  }
  return fields;
}

std::string escaped_field(std::string_view field) {
  std::string out;
  for (const char c : field) {
    const bool special =
        c == '*' || c == '%' || c == ',' || c == '\\' || (static_cast<unsigned char>(c) < 0x20);
    if (special) {
      out += fmt::format("\\u{:04X}", static_cast<unsigned>(static_cast<unsigned char>(c)));
    } else {
      out.push_back(c);
    }
  }
  return out;
}

void AttributeDictionary::remove(std::string_view name) {
  const bool all = name.empty();
  if (all || name == ".AperFunction") aperture_function_.clear();
  if (all || name == ".N") object_.nets.reset();
  if (all || name == ".C") component_.clear();
  if (all || name == ".P") {
    has_pin_ = false;
    object_.pin.clear();
    object_.pin_function.clear();
  }
  if (!has_pin_) object_.component = component_;
}

bool AttributeDictionary::apply(std::string_view command) {
  const char kind = command[1];
  last_command_ = report_.offset(command);
  if (command.size() > kMaxAttribute) {
    return report_.fail(last_command_, "GBR-061",
                        fmt::format("an attribute is longer than {} characters", kMaxAttribute),
                        "export again without attributes, or with shorter ones");
  }
  std::vector<std::string> fields = attribute_fields(command.substr(2));
  const std::string name = fields.front();
  changed_ = true;
  if (kind == 'D') {
    remove(name);
    return true;
  }
  if (name.empty()) {
    return report_.fail(report_.offset(command), "GBR-060", "an attribute has no name",
                        "correct the command or remove it");
  }
  if (kind == 'F') {
    image_.file_attributes.push_back(std::move(fields));
    return true;
  }
  fields.erase(fields.begin());
  if (kind == 'A') {
    if (name == ".AperFunction") aperture_function_ = fields.empty() ? "" : fields.front();
    return true;
  }
  if (name == ".N") {
    if (fields.empty()) fields.emplace_back();
    object_.nets = std::move(fields);
  } else if (name == ".P") {
    fields.resize(std::max<std::size_t>(fields.size(), 3));
    has_pin_ = true;
    object_.component = fields[0];
    object_.pin = fields[1];
    object_.pin_function = fields[2];
  } else if (name == ".C") {
    component_ = fields.empty() ? "" : fields.front();
    if (!has_pin_) object_.component = component_;
  }
  return true;
}

std::uint32_t AttributeDictionary::intern(const Attributes& attributes) {
  if (attributes == Attributes{}) return 0;
  const auto next = static_cast<std::uint32_t>(image_.attributes.size());
  const auto [place, fresh] = known_.emplace(key_of(attributes), next);
  if (!fresh) return place->second;
  bytes_ += place->first.size() + (attributes.nets ? attributes.nets->size() : 0) * 64;
  if (bytes_ > kMaxAttributeBytes) {
    report_.fail(last_command_, "GBR-062", "the attributes of all objects take too much memory",
                 "export again without attributes");
    return 0;
  }
  image_.attributes.push_back(attributes);
  return place->second;
}

std::uint32_t AttributeDictionary::index_for(const std::string& aperture_function) {
  if (!changed_ && aperture_function == last_function_) return last_;
  Attributes all = object_;
  all.aperture_function = aperture_function;
  last_ = intern(all);
  last_function_ = aperture_function;
  changed_ = false;
  return last_;
}

std::uint32_t AttributeDictionary::merged(std::uint32_t inner, std::uint32_t outer) {
  if (outer == 0 || inner == outer) return inner;
  const std::uint64_t key = std::uint64_t{inner} << 32 | outer;
  if (const auto found = merged_.find(key); found != merged_.end()) return found->second;
  Attributes all = image_.attributes[inner];
  const Attributes& more = image_.attributes[outer];
  if (!all.nets) all.nets = more.nets;
  if (all.component.empty()) {
    all.component = more.component;
    all.pin = more.pin;
    all.pin_function = more.pin_function;
  }
  if (all.aperture_function.empty()) all.aperture_function = more.aperture_function;
  return merged_[key] = intern(all);
}

}  // namespace isthmus::formats::gerber
