// Writes the C descriptor of plugins/plugin.h from a C++ class. Header-only, standard library only, C++17.
// Nothing thrown by the class crosses the boundary: in create it becomes the reason, in decode a refusal, in
// deliver and store RETRY with what() as the words.
//
//   class Celsius {
//    public:
//     Celsius(std::string_view settings_json, coilward::plugin::Host host);   // throws what is wrong
//     void decode(std::string_view topic, std::string_view payload, coilward::plugin::Values& out);
//   };
//   COILWARD_DECODER(Celsius, "celsius", "1.0", R"([{"key": "offset", "type": "number", "default": 0}])")
//
// A notifier has `Reply deliver(std::string_view alert_json, double timeout_s)`, an exporter
// `Reply store(std::string_view batch_json, double timeout_s)`; both have `void interrupt() noexcept`, which
// another thread calls. Thread rules are those of plugin.h.
#ifndef COILWARD_PLUGIN_HPP
#define COILWARD_PLUGIN_HPP

#include <exception>
#include <string>
#include <string_view>

#include "plugin.h"

namespace coilward::plugin {

inline coilward_text text(std::string_view view) noexcept { return {view.data(), view.size()}; }
inline std::string_view view(coilward_text text) noexcept { return {text.data, text.size}; }

// The host's log. Lives longer than the plugin's objects; copy it freely. [any thread]
class Host {
 public:
  explicit Host(const coilward_host* host) noexcept : host_(host) {}
  void debug(std::string_view line) const noexcept { log(0, line); }
  void info(std::string_view line) const noexcept { log(1, line); }
  void warning(std::string_view line) const noexcept { log(2, line); }
  void error(std::string_view line) const noexcept { log(3, line); }

 private:
  void log(int level, std::string_view line) const noexcept { host_->log(host_->ctx, level, text(line)); }
  const coilward_host* host_;
};

// One value found in a payload; see coilward_value.
struct Value {
  double value = 0;       // 1 and 0 for on and off
  std::string_view name;  // ends in the channel; empty: the topic says it
  std::string_view unit;  // as the payload says it; empty: the configuration says it
  int time_kind = COILWARD_TIME_NONE;
  std::int64_t time_us = 0;
};

// Where a decoder puts what it found, or why it found nothing.
class Values {
 public:
  Values(coilward_emit emit, void (*fail)(void*, coilward_text), void* sink) noexcept
      : emit_(emit), fail_(fail), sink_(sink) {}
  void add(const Value& v) noexcept {
    const coilward_value value{sizeof value, text(v.name), text(v.unit), v.value, v.time_kind, v.time_us};
    emit_(sink_, &value);
  }
  // The payload is not understood; what was added for it is dropped. Cheaper than throwing.
  void refuse(std::string_view why) noexcept {
    if (!refused_) fail_(sink_, text(why));
    refused_ = true;
  }
  bool refused() const noexcept { return refused_; }

 private:
  coilward_emit emit_;
  void (*fail_)(void*, coilward_text);
  void* sink_;
  bool refused_ = false;
};

// How a delivery went: COILWARD_DONE, COILWARD_RETRY or COILWARD_REFUSED, in the other side's own words.
struct Reply {
  int outcome = COILWARD_RETRY;
  std::string words;
};

namespace detail {

template <class Call, class Failed>
auto guarded(Call call, Failed failed) noexcept {
  try {
    return call();
  } catch (const std::exception& e) {
    return failed(std::string_view(e.what()));
  } catch (...) {
    return failed(std::string_view("an exception without words"));
  }
}

template <class T>
void* create(const coilward_host* host, coilward_text config) {
  return guarded([&]() -> void* { return new T(view(config), Host(host)); },
                 [&](std::string_view why) -> void* {
                   host->fail(host->ctx, text(why));
                   return nullptr;
                 });
}

template <class T>
void destroy(void* self) {
  delete static_cast<T*>(self);
}

template <class T>
int decode(void* self, coilward_text topic, coilward_text payload, coilward_emit emit, void* sink,
           void (*fail)(void*, coilward_text)) {
  Values out(emit, fail, sink);
  guarded([&] { static_cast<T*>(self)->decode(view(topic), view(payload), out); },
          [&](std::string_view why) { out.refuse(why); });
  return out.refused() ? COILWARD_REJECTED : COILWARD_DECODED;
}

template <class Call>
int answer(coilward_say say, void* sink, Call call) noexcept {
  const auto told = [&](const Reply& reply) {
    say(sink, text(reply.words));
    return reply.outcome;
  };
  return guarded([&] { return told(call()); },
                 [&](std::string_view why) {
                   say(sink, text(why));
                   return int{COILWARD_RETRY};
                 });
}

template <class T>
int deliver(void* self, coilward_text json, double timeout_s, coilward_say say, void* sink) {
  return answer(say, sink, [&] { return static_cast<T*>(self)->deliver(view(json), timeout_s); });
}

template <class T>
int store(void* self, coilward_text json, double timeout_s, coilward_say say, void* sink) {
  return answer(say, sink, [&] { return static_cast<T*>(self)->store(view(json), timeout_s); });
}

template <class T>
void interrupt(void* self) {
  static_cast<T*>(self)->interrupt();
}

template <class T>
inline constexpr coilward_decoder kDecoder = {sizeof(coilward_decoder), decode<T>};
template <class T>
inline constexpr coilward_notifier kNotifier = {sizeof(coilward_notifier), deliver<T>, interrupt<T>};
template <class T>
inline constexpr coilward_exporter kExporter = {sizeof(coilward_exporter), store<T>, interrupt<T>};

}  // namespace detail
}  // namespace coilward::plugin

#define COILWARD_DESCRIBE(Class, kind, functions, name, version, schema)                   \
  extern "C" COILWARD_PLUGIN_EXPORT const coilward_plugin coilward_plugin_entry;           \
  const coilward_plugin coilward_plugin_entry = {COILWARD_PLUGIN_ABI,                      \
                                                 sizeof(coilward_plugin),                  \
                                                 kind,                                     \
                                                 name,                                     \
                                                 version,                                  \
                                                 schema,                                   \
                                                 coilward::plugin::detail::create<Class>,  \
                                                 coilward::plugin::detail::destroy<Class>, \
                                                 functions};

// Once in a plugin, at namespace scope. schema: see coilward_plugin::config_schema; "[]" for no settings.
#define COILWARD_DECODER(Class, name, version, schema) \
  COILWARD_DESCRIBE(Class, "decoder", &coilward::plugin::detail::kDecoder<Class>, name, version, schema)
#define COILWARD_NOTIFIER(Class, name, version, schema) \
  COILWARD_DESCRIBE(Class, "notifier", &coilward::plugin::detail::kNotifier<Class>, name, version, schema)
#define COILWARD_EXPORTER(Class, name, version, schema) \
  COILWARD_DESCRIBE(Class, "exporter", &coilward::plugin::detail::kExporter<Class>, name, version, schema)

#endif  // COILWARD_PLUGIN_HPP
