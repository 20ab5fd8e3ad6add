#include "daemon/history/value_stream.h"

#include <array>
#include <bit>
#include <cmath>

#include "daemon/history/varint.h"

namespace coilward {
namespace {

constexpr int kMostDigits = 9;
constexpr std::array<double, kMostDigits + 1> kPowers = {1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9};
constexpr std::array<double, kMostDigits + 1> kParts = {1e0,  1e-1, 1e-2, 1e-3, 1e-4,
                                                        1e-5, 1e-6, 1e-7, 1e-8, 1e-9};
// Above this a step is no longer exact in a double.
constexpr double kMostSteps = 9007199254740992.0;  // 2^53

// A decimal text reads as the double nearest to n / 10^d, which is what IEEE 754 division of two exact
// numbers gives; a product with 10^-d is not always that.
double from_steps(std::int64_t steps, ValueForm form, int digits) {
  if (form == ValueForm::product) return static_cast<double>(steps) * kParts[digits];
  const double value = static_cast<double>(steps) / kPowers[digits];
  return form == ValueForm::decimal_single ? static_cast<double>(static_cast<float>(value)) : value;
}

// nullopt: this value has no exact steps in this form.
std::optional<std::int64_t> steps_of(double value, ValueForm form, int digits) {
  const double scaled = value * kPowers[digits];
  if (!(std::abs(scaled) < kMostSteps)) return std::nullopt;
  const auto steps = static_cast<std::int64_t>(std::llround(scaled));
  const bool same =
      std::bit_cast<std::uint64_t>(from_steps(steps, form, digits)) == std::bit_cast<std::uint64_t>(value);
  return same ? std::optional(steps) : std::nullopt;
}

// Fewest digits that fit all values, or -1. Digits only grow from value to value, so most values are looked
// at once; values before the last growth are looked at again.
int digits_for(std::span<const double> values, ValueForm form) {
  int digits = 0;
  for (const double value : values)
    while (!steps_of(value, form, digits))
      if (++digits > kMostDigits) return -1;
  for (const double value : values)
    if (!steps_of(value, form, digits)) return -1;
  return digits;
}

ValueStream put_steps(std::span<const double> values, ValueForm form, int digits, Against against) {
  std::vector<std::int64_t> steps(values.size());
  for (std::size_t i = 0; i < values.size(); ++i) steps[i] = *steps_of(values[i], form, digits);
  const Reach reach = against == Against::the_best ? best_reach(steps) : Reach{0};
  return {form, static_cast<std::uint8_t>(digits), reach, put_residuals(steps, reach)};
}

std::string word_bytes(std::span<const double> values) {
  std::string bytes(values.size() * 8, '\0');
  std::uint64_t before = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const auto word = std::bit_cast<std::uint64_t>(values[i]);
    for (std::size_t b = 0; b < 8; ++b)
      bytes[b * values.size() + i] = static_cast<char>((word ^ before) >> (8 * b));
    before = word;
  }
  return bytes;
}

std::optional<std::vector<double>> from_words(std::string_view bytes, std::size_t count) {
  if (bytes.size() != count * 8) return std::nullopt;
  std::vector<double> values(count);
  std::uint64_t before = 0;
  for (std::size_t i = 0; i < count; ++i) {
    for (std::size_t b = 0; b < 8; ++b)
      before ^= static_cast<std::uint64_t>(static_cast<unsigned char>(bytes[b * count + i])) << (8 * b);
    values[i] = std::bit_cast<double>(before);
  }
  return values;
}

}  // namespace

ValueStream put_values(std::span<const double> values, Against against) {
  for (const auto form : {ValueForm::decimal, ValueForm::decimal_single, ValueForm::product})
    if (const int digits = digits_for(values, form); digits >= 0)
      return put_steps(values, form, digits, against);
  return {ValueForm::words, 0, 0, word_bytes(values)};
}

std::optional<std::vector<double>> take_values(const ValueStream& stream, std::size_t count) {
  if (stream.form == ValueForm::words) return from_words(stream.bytes, count);
  if (stream.digits > kMostDigits || stream.form > ValueForm::words) return std::nullopt;
  const auto steps = take_residuals(stream.bytes, count, stream.reach);
  if (!steps) return std::nullopt;
  std::vector<double> values(count);
  for (std::size_t i = 0; i < count; ++i) values[i] = from_steps((*steps)[i], stream.form, stream.digits);
  return values;
}

void put_value(std::string& out, ValueForm form, std::uint8_t digits, double value) {
  if (form == ValueForm::words) return put_word(out, value);
  put_signed(out, steps_of(value, form, digits).value_or(0));
}

double take_value(ByteReader& in, ValueForm form, std::uint8_t digits) {
  if (form == ValueForm::words) return in.word<double>();
  return digits > kMostDigits ? 0.0 : from_steps(in.signed_varint(), form, digits);
}

}  // namespace coilward
