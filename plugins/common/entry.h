// From a class with deliver() or store(), and interrupt(), to the C descriptor of plugins/plugin.h: no
// exception leaves, and each side frees its own.
#pragma once

#include <exception>
#include <nlohmann/json.hpp>
#include <string_view>

#include "plugins/common/reply.h"

namespace coilward_plugins {

template <class T>
void* create(const coilward_host* host, coilward_text config) {
  try {
    return new T(nlohmann::json::parse(std::string_view(config.data, config.size)));
  } catch (const std::exception& e) {
    const std::string_view why = e.what();
    host->fail(host->ctx, {why.data(), why.size()});
    return nullptr;
  }
}

template <class T>
void destroy(void* self) {
  delete static_cast<T*>(self);
}

template <class Call>
int answer(coilward_say say, void* sink, Call call) {
  Reply reply;
  try {
    reply = call();
  } catch (const std::exception& e) {
    reply = {COILWARD_RETRY, e.what()};
  }
  say(sink, {reply.words.data(), reply.words.size()});
  return reply.outcome;
}

template <class T>
int deliver(void* self, coilward_text json, double timeout_s, coilward_say say, void* sink) {
  return answer(say, sink, [&] {
    return static_cast<T*>(self)->deliver(std::string_view(json.data, json.size), timeout_s);
  });
}

template <class T>
int store(void* self, coilward_text json, double, coilward_say say, void* sink) {
  return answer(say, sink,
                [&] { return static_cast<T*>(self)->store(std::string_view(json.data, json.size)); });
}

template <class T>
void interrupt(void* self) {
  static_cast<T*>(self)->interrupt();
}

template <class T>
inline constexpr coilward_notifier kNotifier = {sizeof(coilward_notifier), deliver<T>, interrupt<T>};
template <class T>
inline constexpr coilward_exporter kExporter = {sizeof(coilward_exporter), store<T>, interrupt<T>};

template <class T>
constexpr coilward_plugin describe(const char* kind, const char* name, const char* schema,
                                   const void* functions) {
  return {COILWARD_PLUGIN_ABI,
          sizeof(coilward_plugin),
          kind,
          name,
          "1.0",
          schema,
          create<T>,
          destroy<T>,
          functions};
}

}  // namespace coilward_plugins
