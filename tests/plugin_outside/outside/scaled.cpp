// A decoder in C++17: a decimal number times a factor.
#include <coilward/plugin.hpp>

#include <cstdlib>
#include <stdexcept>

namespace {

class Scaled {
 public:
  Scaled(std::string_view settings, coilward::plugin::Host host) {
    constexpr std::string_view kKey = "\"factor\":";
    const auto at = settings.find(kKey);  // checked by the host
    factor_ = std::strtod(std::string(settings.substr(at + kKey.size())).c_str(), nullptr);
    if (factor_ == 0) throw std::invalid_argument("a factor of 0 makes everything 0");
    host.info("scaled is ready");
  }

  void decode(std::string_view, std::string_view payload, coilward::plugin::Values& out) {
    if (payload == "throw") throw std::runtime_error("thrown inside");
    if (payload == "throw nothing") throw 5;
    std::size_t used = 0;
    const std::string text(payload);
    const double value = std::stod(text, &used);  // throws what the wrapper turns into a refusal
    if (used != text.size()) return out.refuse("more than a number");
    coilward::plugin::Value found;
    found.value = value * factor_;
    out.add(found);
  }

 private:
  double factor_ = 1;
};

}  // namespace

COILWARD_DECODER(Scaled, "scaled", "2.1", R"([{"key": "factor", "type": "number", "required": true}])")
