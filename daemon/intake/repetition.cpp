#include "daemon/intake/repetition.h"

#include <bit>
#include <functional>
#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// Messages and readings remembered at least; twice as many at most. At a site's pace (24 readings a second)
// the first is 5 to 11 minutes, the second 11 to 22; a broker keeps 20 messages in flight by default.
constexpr std::size_t kMessages = 8192;
constexpr std::size_t kReadings = 16384;
// What goes into a snapshot: more than a broker can have in flight.
constexpr std::size_t kSaved = 2048;

std::uint64_t key_of(std::string_view topic, std::string_view payload) {
  const std::hash<std::string_view> hash;
  return mixed_key(hash(topic), hash(payload));
}

std::uint64_t key_of(const Reading& reading) {
  const auto place =
      static_cast<std::uint64_t>(to_ms(reading.time)) * kChannelSlots + channel_slot(reading.channel);
  return mixed_key(place, std::bit_cast<std::uint64_t>(reading.value));
}

Json keys_to_json(const SeenKeys& keys, UtcTime since) {
  Json list = Json::array();
  for (const auto& entry : keys.newest(kSaved))
    if (entry.when >= since) list.push_back({entry.key, to_ms(entry.when)});
  return list;
}

void keys_from_json(const Json& list, SeenKeys& keys) {
  for (auto it = list.rbegin(); it != list.rend(); ++it)  // oldest first, as they came
    keys.remember(it->at(0).get<std::uint64_t>(), from_ms(it->at(1).get<std::int64_t>()));
}

}  // namespace

Repetition::Repetition() : newest_(kChannelSlots, kNever), messages_(kMessages), readings_(kReadings) {}

void Repetition::begin(const Message& message) {
  latest_arrival_ = std::max(latest_arrival_, message.arrival);
  repeated_ = false;
  if (!message.duplicate) return;
  const UtcTime before = messages_.when(key_of(message.topic, message.payload));
  repeated_ = before != kNever && message.arrival >= before - kWindow && message.arrival <= before + kWindow;
}

void Repetition::remember_message(const Message& message) {
  messages_.remember(key_of(message.topic, message.payload), message.arrival);
}

bool Repetition::reading_repeated(const Reading& reading, UtcTime arrival) {
  const std::uint64_t key = key_of(reading);
  // Later than all of its channel before: nothing to look up. The tables do not fit into a small processor's
  // cache, and this is how nearly all readings come.
  if (reading.time > newest_[channel_slot(reading.channel)]) {
    readings_.add(key, arrival);
    return false;
  }
  if (readings_.when(key) != kNever) return true;
  readings_.add(key, arrival);
  return false;
}

Json Repetition::save(const Config& config) const {
  Json newest = Json::object();
  for (std::size_t slot = 0; slot < newest_.size(); ++slot) {
    const Channel channel{static_cast<ChannelKind>(slot / 256), static_cast<std::uint8_t>(slot % 256)};
    if (newest_[slot] != kNever) newest[channel_text(channel, config)] = to_ms(newest_[slot]);
  }
  const UtcTime since = latest_arrival_ == kNever ? kNever : latest_arrival_ - kWindow;
  return {{"newest", std::move(newest)},
          {"messages", keys_to_json(messages_, since)},
          {"readings", keys_to_json(readings_, since)},
          {"latest_arrival", latest_arrival_ == kNever ? Json(nullptr) : Json(to_ms(latest_arrival_))}};
}

// A channel that the configuration no longer has is forgotten.
void Repetition::restore(const Json& saved, const Config& config) {
  for (const auto& [name, ms] : saved.at("newest").items())
    if (const auto channel = parse_channel(name, config))
      newest_[channel_slot(*channel)] = from_ms(ms.get<std::int64_t>());
  keys_from_json(saved.at("messages"), messages_);
  keys_from_json(saved.at("readings"), readings_);
  if (const Json& latest = saved.at("latest_arrival"); !latest.is_null())
    latest_arrival_ = from_ms(latest.get<std::int64_t>());
}

}  // namespace coilward
