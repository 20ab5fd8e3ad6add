#include "daemon/intake/intake_impl.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/base/log.h"

namespace coilward {

Intake::Impl::Impl(const Config& config, TopicMap topics, DecoderSet decoders)
    : config_(config), topics_(std::move(topics)), decoders_(std::move(decoders)) {
  samples_.reserve(64);
  readings_.reserve(64);
}

std::span<const Reading> Intake::Impl::message(const Message& message) {
  readings_.clear();
  implausible_.clear();
  ++counters_.messages;
  if (message.payload.size() > kLargestPayload)
    refuse_message(message, Reject::too_large,
                   fmt::format("found {} bytes; allowed are {}", message.payload.size(), kLargestPayload));
  else if (const TopicSource* source = topics_.find(message.topic))
    decode(message, *source);
  else
    refuse_message(message, Reject::unknown_topic, "neither under measure/ nor of a [[sensor]]");
  return readings_;
}

void Intake::Impl::lost_before(std::uint64_t messages) {
  counters_.messages += messages;
  counters_.messages_lost += messages;
  counters_.received += messages;
  counters_.dropped[static_cast<std::size_t>(Drop::before_intake)] += messages;
}

void Intake::Impl::decode(const Message& message, const TopicSource& source) {
  samples_.clear();
  std::uint64_t too_many = 0;
  auto take = [&](const coilward_value& value) noexcept {
    if (samples_.size() < kMostValues)
      samples_.push_back(judged(value, source, config_));
    else
      ++too_many;
  };
  Decoder& decoder = decoders_.choose(source, message.payload);
  if (!decoder.decode(message.topic, message.payload, take))
    return refuse_message(message, Reject::undecodable, fmt::format("{}: {}", decoder.name(), decoder.why()));
  if (samples_.empty())
    return refuse_message(message, Reject::no_value,
                          fmt::format("{}: no number and no boolean in it", decoder.name()));
  ++counters_.messages_decoded;
  counters_.received += samples_.size() + too_many;
  counters_.dropped[static_cast<std::size_t>(Drop::too_many_values)] += too_many;
  repetition_.begin(message);
  for (const Sample& sample : samples_) settle(message, sample);
  // RFC 8428 section 4.6: resolved records are chronological, whatever their order in the pack.
  const auto earlier = [](const Reading& a, const Reading& b) { return a.time < b.time; };
  if (!std::is_sorted(readings_.begin(), readings_.end(), earlier))
    std::stable_sort(readings_.begin(), readings_.end(), earlier);
}

namespace {

// What was on days ago may have been switched off by a message the broker did not keep: it begins no run.
constexpr auto kStateHolds = std::chrono::minutes(15);

bool is_old_state(const Message& message, const Reading& reading) {
  switch (reading.channel.kind) {
    case ChannelKind::zone_command:
    case ChannelKind::master_command:
    case ChannelKind::zone_current:
    case ChannelKind::master_current:
      return message.arrival - reading.time > kStateHolds;
    default:
      return false;
  }
}

}  // namespace

void Intake::Impl::settle(const Message& message, const Sample& sample) {
  if (sample.reject == Reject::not_a_channel) return refuse(message, Reject::not_a_channel, sample);
  const ReadingTime time = reading_time(message, sample.time_kind, sample.time_us);
  const Reading reading{*sample.channel, time.time, sample.value, time.unsure};
  // Out of the broker's store comes the past, however fresh it looks.
  if (message.retained && !(time.own && repetition_.is_news(reading) && !is_old_state(message, reading)))
    return refuse(message, Reject::retained, sample);
  if (sample.reject) return refuse(message, *sample.reject, sample);
  if (time.own ? repetition_.reading_repeated(reading, message.arrival) : repetition_.message_repeated()) {
    ++counters_.duplicates;
    return;
  }
  if (!time.own) repetition_.remember_message(message);
  store(message, sample, time);
}

void Intake::Impl::store(const Message& message, const Sample& sample, const ReadingTime& time) {
  ++counters_.stored;
  if (time.note != TimeNote::none) note_time(message, sample, time);
  if (time.unsure) ++counters_.time_unsure;
  readings_.push_back({*sample.channel, time.time, sample.value, time.unsure});
  repetition_.stored(readings_.back());
}

void Intake::Impl::note_time(const Message& message, const Sample& sample, const ReadingTime& time) {
  const bool ahead = time.note == TimeNote::ahead;
  ++(ahead ? counters_.time_ahead : counters_.time_behind);
  Sample noted = sample;
  noted.why = ahead
                  ? "its time is more than an hour after the arrival; the arrival was taken"
                  : "its time is before 2020 or more than 400 days before the arrival; the arrival was taken";
  const bool writable = time.claimed > UtcTime{} && time.claimed < kLatest;
  remember(message, ahead ? "time_ahead" : "time_behind", noted,
           writable ? format_rfc3339(time.claimed) : fmt::format("{} ms since 1970", to_ms(time.claimed)));
}

void Intake::Impl::refuse_message(const Message& message, Reject reason, std::string why) {
  ++counters_.messages_undecoded;
  if (reason == Reject::no_value) {
    --counters_.messages_undecoded;
    ++counters_.messages_decoded;
  }
  ++counters_.received;
  Sample none;
  none.why = std::move(why);
  refuse(message, reason, none);
}

void Intake::Impl::refuse(const Message& message, Reject reason, const Sample& sample) {
  ++counters_.rejected[static_cast<std::size_t>(reason)];
  if (reason == Reject::implausible && implausible_.size() < kMostValues)
    implausible_.push_back({*sample.channel, sample.value, message.arrival});
  Sample noted = sample;
  if (reason == Reject::retained) noted.why = "out of the broker's store, without a newer time of its own";
  remember(message, reject_name(reason), noted, "");
}

// Retained copies come with every subscription, so they are nothing to complain of.
void Intake::Impl::remember(const Message& message, std::string_view reason, const Sample& sample,
                            std::string claimed) {
  RejectedSample kept{message.arrival,
                      std::string(reason),
                      payload_head(message.topic),
                      payload_head(message.payload),
                      sample.why,
                      sample.channel,
                      sample.value,
                      std::move(claimed)};
  if (reason != reject_name(Reject::retained))
    log::limited(log::Level::warning, fmt::format("intake {}", reason),
                 fmt::format("{}: {} ({}): {}", kept.topic, kept.why, reason, kept.payload));
  rejects_.add(std::move(kept));
}

}  // namespace coilward
