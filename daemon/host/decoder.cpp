#include "daemon/host/decoder.h"

#include <fmt/format.h>

#include "daemon/host/foreign_text.h"
#include "daemon/host/running_plugin.h"

namespace coilward {
namespace {

constexpr std::size_t kLongestName = 4096;  // bytes of a name or unit; "own judgement"
constexpr std::size_t kLongestReason = 512;

// What is wrong with a value as a plugin gives it; null when nothing is.
const char* unsound(const coilward_value* value) {
  if (!value) return "no value at all";
  if (value->size < sizeof(coilward_value)) return "a value of the wrong size";
  if ((!value->name.data && value->name.size) || value->name.size > kLongestName)
    return "a name of the wrong size";
  if ((!value->unit.data && value->unit.size) || value->unit.size > kLongestName)
    return "a unit of the wrong size";
  if (value->time_kind < COILWARD_TIME_NONE || value->time_kind > COILWARD_TIME_RELATIVE)
    return "a time of no known kind";
  return nullptr;
}

}  // namespace

void Decoder::emit(void* sink, const coilward_value* value) noexcept {
  auto& to = *static_cast<Sink*>(sink);
  if (!to.sound) return;
  if (const char* wrong = unsound(value)) {
    to.sound = false;
    to.decoder.why_ = fmt::format("the decoder {} gave {}", to.decoder.name(), wrong);
    return;
  }
  to.give(to.to, *value);
}

void Decoder::fail(void* sink, coilward_text why) noexcept {
  auto& to = *static_cast<Sink*>(sink);
  if (to.sound) to.decoder.why_ = foreign_text(why, kLongestReason);
}

bool Decoder::run(std::string_view topic, std::string_view payload, Sink& sink) {
  why_.clear();
  const RunningPlugin blamed(name().c_str());
  const int outcome = object_.functions<coilward_decoder>().decode(object_.self(), text(topic), text(payload),
                                                                   emit, &sink, fail);
  if (!sink.sound) return false;
  if (outcome == COILWARD_DECODED) return true;
  if (outcome != COILWARD_REJECTED)
    why_ = fmt::format("the decoder {} answered {}; allowed are {} and {}", name(), outcome,
                       int{COILWARD_DECODED}, int{COILWARD_REJECTED});
  else if (why_.empty())
    why_ = "refused without a reason";
  return false;
}

}  // namespace coilward
