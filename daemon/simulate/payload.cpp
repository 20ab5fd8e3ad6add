#include <fmt/format.h>

#include <bit>
#include <cmath>

#include "daemon/simulate/sensor.h"

namespace coilward::simulate {
namespace {

int decimals(const SensorPlan& plan) {
  const double step = plan.quantum * plan.unit_scale;
  if (step <= 0) return 6;
  return std::max(0, static_cast<int>(std::ceil(-std::log10(step) - 1e-9)));
}

std::string number_text(const SensorPlan& plan, double value) {
  return fmt::format("{:.{}f}", value * plan.unit_scale, decimals(plan));
}

// CBOR (RFC 8949), as much as a SenML pack needs (RFC 8428 section 6: labels are small integers).
class Cbor {
 public:
  void array(std::size_t size) { head(4, size); }
  void map(std::size_t size) { head(5, size); }
  void text(std::string_view value) {
    head(3, value.size());
    out_.append(value);
  }
  void label(int value) {
    value >= 0 ? head(0, static_cast<std::size_t>(value)) : head(1, static_cast<std::size_t>(-1 - value));
  }
  void real(double value) {
    const auto bits = std::bit_cast<std::uint64_t>(value);
    out_ += static_cast<char>(0xFB);
    for (int shift = 56; shift >= 0; shift -= 8) out_ += static_cast<char>(bits >> shift);
  }
  void boolean(bool value) { out_ += static_cast<char>(value ? 0xF5 : 0xF4); }
  std::string take() { return std::move(out_); }

 private:
  void head(unsigned major, std::size_t value) {
    if (value < 24) {
      out_ += static_cast<char>(major << 5 | value);
    } else if (value < 256) {
      out_ += static_cast<char>(major << 5 | 24), out_ += static_cast<char>(value);
    } else {
      out_ += static_cast<char>(major << 5 | 25), out_ += static_cast<char>(value >> 8);
      out_ += static_cast<char>(value);
    }
  }
  std::string out_;
};

enum Label {
  kBaseName = -2,
  kBaseTime = -3,
  kBaseUnit = -4,
  kName = 0,
  kUnit = 1,
  kValue = 2,
  kBoolean = 4,
  kTime = 6
};

std::string cbor_reading(const SensorPlan& plan, double value, bool boolean, double when) {
  Cbor out;
  out.array(1);
  out.map(2 + (boolean ? 0 : 1) + (plan.own_time ? 1 : 0));
  out.label(kName), out.text(plan.senml_name);
  if (!boolean) out.label(kUnit), out.text(plan.unit);
  if (boolean) out.label(kBoolean), out.boolean(value != 0);
  if (!boolean) out.label(kValue), out.real(value);
  if (plan.own_time) out.label(kTime), out.real(when);
  return out.take();
}

std::string time_member(const SensorPlan& plan, double when) {
  return plan.own_time ? fmt::format(",\"t\":{:.3f}", when) : std::string();
}

}  // namespace

std::string payload_of(const SensorPlan& plan, double value, double since_epoch_s) {
  switch (plan.form) {
    case PayloadForm::senml_json:
      return fmt::format(R"([{{"n":"{}","u":"{}","v":{}{}}}])", plan.senml_name, plan.unit,
                         number_text(plan, value), time_member(plan, since_epoch_s));
    case PayloadForm::senml_cbor:
      return cbor_reading(plan, value, false, since_epoch_s);
    case PayloadForm::json:
      return fmt::format(R"({{"device":"ct","reading":{{"value":{}{}}}}})", number_text(plan, value),
                         time_member(plan, since_epoch_s));
    default:
      return number_text(plan, value);
  }
}

std::string burst_payload(const SensorPlan& plan, const std::vector<double>& values, double step_s,
                          double first_s, double since_epoch_s) {
  const double base = plan.own_time ? since_epoch_s + first_s : first_s;
  if (plan.form == PayloadForm::senml_cbor) {
    Cbor out;
    out.array(values.size());
    for (std::size_t i = 0; i < values.size(); ++i) {
      out.map(i == 0 ? 4 : 2);
      if (i == 0) {
        out.label(kBaseName), out.text(plan.senml_name);
        out.label(kBaseUnit), out.text(plan.unit);
        out.label(kBaseTime), out.real(base);
      } else {
        out.label(kTime), out.real(static_cast<double>(i) * step_s);
      }
      out.label(kValue), out.real(values[i]);
    }
    return out.take();
  }
  std::string out = fmt::format(R"([{{"bn":"{}","bu":"{}","bt":{:.3f},"v":{})", plan.senml_name, plan.unit,
                                base, number_text(plan, values.at(0)));
  for (std::size_t i = 1; i < values.size(); ++i)
    out += fmt::format(R"(}},{{"t":{:.4f},"v":{})", static_cast<double>(i) * step_s,
                       number_text(plan, values[i]));
  return out + "}]";
}

std::string command_payload(const SensorPlan& plan, bool on, double since_epoch_s) {
  switch (plan.form) {
    case PayloadForm::senml_json:
      return fmt::format(R"([{{"n":"{}","vb":{}{}}}])", plan.senml_name, on,
                         time_member(plan, since_epoch_s));
    case PayloadForm::senml_cbor:
      return cbor_reading(plan, on ? 1 : 0, true, since_epoch_s);
    case PayloadForm::json:
      return fmt::format(R"({{"device":"relay","reading":{{"value":{}}}}})", on);
    default:
      return on ? "1" : "0";
  }
}

}  // namespace coilward::simulate
