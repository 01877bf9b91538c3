// SPDX-License-Identifier: Apache-2.0
// The Voronoi diagram of segments by Boost.Polygon, with large numbers of our own. Boost finds where
// three sites meet in doubles with a bound of the error, and where that is too large in integers of
// any size: of nearly all chords of a round pad, which meet under small angles. These integers, and
// the doubles of any size that they turn into, were half of what `inspect` took. Ours calculate the
// same, so that each number of the diagram is the same.
#pragma once

#include <algorithm>
#include <bit>
#include <boost/polygon/voronoi_builder.hpp>
#include <boost/polygon/voronoi_diagram.hpp>
#include <cmath>
#include <cstdint>
#include <utility>

namespace isthmus::copper::voronoi {

// Sign and magnitude, 64 bits a limb. REQUIRES that nothing exceeds 2048 bits, as Boost's for 32 bit places.
class Integer {
 public:
  Integer() {}             // NOLINT(modernize-use-equals-default): the limbs are left as they are
  Integer(std::int64_t v)  // NOLINT(google-explicit-constructor): as Boost's
      : limbs_(v != 0 ? 1 : 0), negative_(v < 0) {
    limb_[0] = v < 0 ? -static_cast<std::uint64_t>(v) : static_cast<std::uint64_t>(v);
  }
  Integer(int v) : Integer(std::int64_t{v}) {}  // NOLINT(google-explicit-constructor)
  Integer(const Integer& o) { *this = o; }
  Integer& operator=(const Integer& o) {
    limbs_ = o.limbs_;
    negative_ = o.negative_;
    std::copy_n(o.limb_, limbs_, limb_);
    return *this;
  }

  friend Integer operator+(const Integer& a, const Integer& b) { return sum(a, b, b.negative_); }
  friend Integer operator-(const Integer& a, const Integer& b) { return sum(a, b, !b.negative_); }
  friend Integer operator*(const Integer& a, const Integer& b) {
    Integer out;
    out.limbs_ = 0;
    out.negative_ = a.negative_ != b.negative_;
    if (a.limbs_ == 0 || b.limbs_ == 0) return out;
    std::uint64_t over = 0;
    for (std::size_t k = 0; k < b.limbs_; ++k) {
      const Double t = Double{a.limb_[0]} * b.limb_[k] + over;
      out.limb_[k] = static_cast<std::uint64_t>(t);
      over = static_cast<std::uint64_t>(t >> 64);
    }
    out.limb_[b.limbs_] = over;
    for (std::size_t i = 1; i < a.limbs_; ++i) {
      std::uint64_t carry = 0;
      for (std::size_t k = 0; k < b.limbs_; ++k) {
        const Double t = Double{a.limb_[i]} * b.limb_[k] + out.limb_[i + k] + carry;
        out.limb_[i + k] = static_cast<std::uint64_t>(t);
        carry = static_cast<std::uint64_t>(t >> 64);
      }
      out.limb_[i + b.limbs_] = carry;
    }
    out.limbs_ = a.limbs_ + b.limbs_;
    out.trim();
    return out;
  }
  Integer operator-() const {
    Integer out = *this;
    out.negative_ = !negative_;
    return out;
  }

  friend bool is_pos(const Integer& v) { return v.limbs_ > 0 && !v.negative_; }
  friend bool is_neg(const Integer& v) { return v.limbs_ > 0 && v.negative_; }
  friend bool is_zero(const Integer& v) { return v.limbs_ == 0; }

  // Of the three highest words of 32 bits, rounded one after the other; times 2 to the second.
  [[nodiscard]] std::pair<double, int> p() const {
    if (limbs_ == 0) return {0, 0};
    constexpr double kWord = 4294967296.0;
    const auto high = [](std::uint64_t l) { return static_cast<double>(l >> 32); };
    const auto low = [](std::uint64_t l) {
      return static_cast<double>(static_cast<std::uint32_t>(l));
    };
    const std::uint64_t top = limb_[limbs_ - 1], next = limbs_ > 1 ? limb_[limbs_ - 2] : 0;
    const bool half = top >> 32 == 0;  // the highest word is the lower half of its limb
    const std::size_t words = 2 * limbs_ - (half ? 1 : 0);
    double value = half ? low(top) : high(top);
    if (words > 1) value = value * kWord + (half ? high(next) : low(top));
    if (words > 2) value = value * kWord + (half ? low(next) : high(next));
    const int exponent = words > 3 ? static_cast<int>(words - 3) * 32 : 0;
    return {negative_ ? -value : value, exponent};
  }

 private:
  __extension__ using Double = unsigned __int128;
  static constexpr std::size_t kMost = 32;

  void trim() {
    while (limbs_ > 0 && limb_[limbs_ - 1] == 0) --limbs_;
  }
  // a + b, b taken with that sign.
  static Integer sum(const Integer& a, const Integer& b, bool b_negative) {
    const bool a_less = less(a, b);
    const Integer &more = a_less ? b : a, &few = a_less ? a : b;
    const bool subtract = a.negative_ != b_negative;
    Integer out;
    out.negative_ = a_less ? b_negative : a.negative_;
    out.limbs_ = more.limbs_;
    std::uint64_t carry = 0;  // or borrow
    for (std::size_t i = 0; i < more.limbs_; ++i) {
      const std::uint64_t f = i < few.limbs_ ? few.limb_[i] : 0, m = more.limb_[i];
      const std::uint64_t with = subtract ? m - f : m + f;
      const std::uint64_t all = subtract ? with - carry : with + carry;
      const bool over = subtract ? m < f || with < carry : with < m || all < with;
      carry = over ? 1 : 0;
      out.limb_[i] = all;
    }
    if (carry != 0) out.limb_[out.limbs_++] = carry;
    out.trim();
    return out;
  }
  static bool less(const Integer& a, const Integer& b) {
    if (a.limbs_ != b.limbs_) return a.limbs_ < b.limbs_;
    for (std::size_t i = a.limbs_; i-- > 0;) {
      if (a.limb_[i] != b.limb_[i]) return a.limb_[i] < b.limb_[i];
    }
    return false;
  }

  std::size_t limbs_{0};
  bool negative_{false};
  std::uint64_t limb_[kMost];  // lowest first; of them only `limbs_` mean anything
};

// A double whose exponent may be an integer, as Boost's extended_exponent_fpt, which takes each result
// apart into fraction and exponent. Here a number of usual size is a plain double.
class Extended {
 public:
  explicit Extended(double value) : value_(value) { settle(); }
  // value * 2 ^ exponent
  Extended(double value, int exponent) : value_(value), exponent_(exponent) {
    if (exponent_ > 0 && exponent_ <= kMostPlain) {
      value_ *= std::bit_cast<double>(static_cast<std::uint64_t>(1023 + exponent_) << 52);
      exponent_ = 0;
    }
    settle();
  }
  [[nodiscard]] double d() const { return exponent_ == 0 ? value_ : std::ldexp(value_, exponent_); }

  friend Extended operator*(const Extended& a, const Extended& b) {
    return {a.value_ * b.value_, a.exponent_ + b.exponent_};
  }
  friend Extended operator/(const Extended& a, const Extended& b) {
    return {a.value_ / b.value_, a.exponent_ - b.exponent_};
  }
  friend Extended operator+(const Extended& a, const Extended& b) {
    if (a.exponent_ == 0 && b.exponent_ == 0) return Extended(a.value_ + b.value_);
    int ea = 0, eb = 0;
    const double va = a.fraction(ea), vb = b.fraction(eb);
    if (va == 0 || (vb != 0 && eb > ea + kBits)) return b;
    if (vb == 0 || ea > eb + kBits) return a;
    return ea >= eb ? Extended(std::ldexp(va, ea - eb) + vb, eb)
                    : Extended(std::ldexp(vb, eb - ea) + va, ea);
  }
  friend Extended operator-(const Extended& a, const Extended& b) { return a + -b; }
  Extended operator-() const {
    Extended out = *this;
    out.value_ = -value_;
    return out;
  }
  friend Extended get_sqrt(const Extended& v) {
    if (v.exponent_ == 0) return Extended(std::sqrt(v.value_));
    const int odd = v.exponent_ & 1;
    return {std::sqrt(odd != 0 ? v.value_ * 2 : v.value_), (v.exponent_ - odd) / 2};
  }
  friend bool is_pos(const Extended& v) { return v.value_ > 0; }
  friend bool is_neg(const Extended& v) { return v.value_ < 0; }
  friend bool is_zero(const Extended& v) { return v.value_ == 0; }

 private:
  static constexpr int kMostPlain = 400, kBits = 54;
  static constexpr double kMost = 0x1p500, kLeast = 0x1p-500;

  // Fraction and exponent apart where the number is too large or small, else a plain double.
  void settle() {
    const double size = std::abs(value_);
    if (exponent_ == 0 && ((size < kMost && size > kLeast) || size == 0)) return;
    int more = 0;
    value_ = std::frexp(value_, &more);
    exponent_ += more;
    if (value_ != 0 && std::abs(exponent_) >= kMostPlain) return;
    value_ = std::ldexp(value_, exponent_);
    exponent_ = 0;
  }
  double fraction(int& exponent) const {
    const double value = std::frexp(value_, &exponent);
    exponent += exponent_;
    return value;
  }

  double value_{};
  int exponent_{};  // not 0: the value is a fraction of 0.5 to 1
};

using BoostTraits = boost::polygon::detail::voronoi_ctype_traits<int>;

struct ToDouble : boost::polygon::detail::type_converter_fpt {
  using boost::polygon::detail::type_converter_fpt::operator();
  double operator()(const Extended& v) const { return v.d(); }
  double operator()(const Integer& v) const {
    const auto [value, exponent] = v.p();
    return std::ldexp(value, exponent);
  }
};
struct ToExtended {
  Extended operator()(const Integer& v) const {
    const auto [value, exponent] = v.p();
    return {value, exponent};
  }
};
struct Traits : BoostTraits {
  using big_int_type = Integer;
  using efpt_type = Extended;
  using to_fpt_converter_type = ToDouble;
  using to_efpt_converter_type = ToExtended;
};

}  // namespace isthmus::copper::voronoi

namespace isthmus::copper {

using VoronoiDiagram = boost::polygon::voronoi_diagram<double>;
using VoronoiBuilder = boost::polygon::voronoi_builder<int, voronoi::Traits>;

}  // namespace isthmus::copper
