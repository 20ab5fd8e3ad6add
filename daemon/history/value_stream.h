// Doubles as a stream of small bytes, exactly. Four forms, tried in this order:
//   decimal         value == n / 10^digits: what a sensor sent as "0.231"; n as residuals
//   decimal_single  value == (double)(float)(n / 10^digits): the same through a 4-byte float (CBOR, ADC code)
//   product         value == n * 10^-digits in floating point: milliamperes times 0.001; often one bit beside
//   words           anything else, NaN and -0 included: XOR with the one before, bytes of equal weight
//   together
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/history/residuals.h"

namespace coilward {

enum class ValueForm : std::uint8_t { decimal, decimal_single, product, words };

struct ValueStream {
  ValueForm form = ValueForm::words;
  std::uint8_t digits = 0;  // decimals, 0..9
  Reach reach = 0;          // of the residuals; 0 for words
  std::string bytes;
};

// Whether each number is told against the one before, or against whatever makes the stream smaller.
enum class Against : std::uint8_t { the_one_before, the_best };

ValueStream put_values(std::span<const double> values, Against against);
// Longest stream of `count` values.
inline std::size_t most_value_bytes(std::size_t count) { return count * 10; }
// nullopt: not `count` values exactly.
std::optional<std::vector<double>> take_values(const ValueStream& stream, std::size_t count);

// One value in the same form.
void put_value(std::string& out, ValueForm form, std::uint8_t digits, double value);
class ByteReader;
double take_value(ByteReader& in, ValueForm form, std::uint8_t digits);

}  // namespace coilward
