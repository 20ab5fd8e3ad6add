// A decoder plugin, made safe to call: what it emits is checked before anyone sees it.
#pragma once

#include <string>
#include <string_view>
#include <type_traits>

#include "daemon/host/plugin_object.h"

namespace coilward {

// Thread: core.
class Decoder {
 public:
  static constexpr const char* kKind = "decoder";
  using Functions = coilward_decoder;
  explicit Decoder(PluginObject object) : object_(std::move(object)) {}

  // Calls on_value(const coilward_value&) noexcept for each value, in order. False: the payload is refused,
  // see why(); what was told for it is to be forgotten. The texts in a value are good during on_value only.
  template <class OnValue>
  bool decode(std::string_view topic, std::string_view payload, OnValue& on_value) {
    Sink sink{*this, &on_value,
              [](void* to, const coilward_value& value) noexcept { (*static_cast<OnValue*>(to))(value); }};
    return run(topic, payload, sink);
  }

  const std::string& why() const { return why_; }
  const std::string& name() const { return object_.name(); }

 private:
  struct Sink {
    Decoder& decoder;
    void* to;
    void (*give)(void* to, const coilward_value& value) noexcept;
    bool sound = true;
  };
  static void emit(void* sink, const coilward_value* value) noexcept;
  static void fail(void* sink, coilward_text why) noexcept;
  bool run(std::string_view topic, std::string_view payload, Sink& sink);

  PluginObject object_;
  std::string why_;
};

}  // namespace coilward
