// Notifier and exporter plugins, made safe to call.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "daemon/host/plugin_object.h"

namespace coilward {

enum class SendOutcome : std::uint8_t {
  done,
  retry,    // the other side may take it later
  refused,  // it will never take this one
};

struct SendReply {
  SendOutcome outcome = SendOutcome::retry;
  std::string words;  // the other side's own; at most kMostWords bytes, valid UTF-8
};
inline constexpr std::size_t kMostWords = 4096;

class Notifier {
 public:
  static constexpr const char* kKind = "notifier";
  using Functions = coilward_notifier;
  explicit Notifier(PluginObject object) : object_(std::move(object)) {}

  // One alert as JSON. Blocks up to timeout_s. An outcome that is none of the three counts as retry.
  // Thread: one at a time, any.
  SendReply deliver(std::string_view alert_json, double timeout_s);
  // A running deliver returns soon. Thread: any.
  void interrupt();
  const std::string& name() const { return object_.name(); }  // of the plugin

 private:
  PluginObject object_;
};

class Exporter {
 public:
  static constexpr const char* kKind = "exporter";
  using Functions = coilward_exporter;
  explicit Exporter(PluginObject object) : object_(std::move(object)) {}

  // One batch as JSON; else as Notifier::deliver.
  SendReply store(std::string_view batch_json, double timeout_s);
  void interrupt();
  const std::string& name() const { return object_.name(); }

 private:
  PluginObject object_;
};

}  // namespace coilward
