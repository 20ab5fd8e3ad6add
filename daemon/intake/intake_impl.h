// Inside of Intake: the order in which a message is looked at.
#pragma once

#include <vector>

#include "daemon/intake/decoder_set.h"
#include "daemon/intake/intake.h"
#include "daemon/intake/reading_time.h"
#include "daemon/intake/reject_ring.h"
#include "daemon/intake/repetition.h"
#include "daemon/intake/sample_judge.h"
#include "daemon/intake/topic_map.h"

namespace coilward {

class Intake::Impl {
 public:
  Impl(const Config& config, TopicMap topics, DecoderSet decoders);

  std::span<const Reading> message(const Message& message);
  void lost_before(std::uint64_t messages);

  const Config& config_;
  TopicMap topics_;
  Repetition repetition_;
  IntakeCounters counters_;
  RejectRing rejects_;
  std::vector<ImplausibleSample> implausible_;

 private:
  void decode(const Message& message, const TopicSource& source);
  void settle(const Message& message, const Sample& sample);
  void store(const Message& message, const Sample& sample, const ReadingTime& time);
  void refuse_message(const Message& message, Reject reason, std::string why);
  void refuse(const Message& message, Reject reason, const Sample& sample);
  void note_time(const Message& message, const Sample& sample, const ReadingTime& time);
  void remember(const Message& message, std::string_view reason, const Sample& sample, std::string claimed);

  DecoderSet decoders_;
  std::vector<Sample> samples_;  // of the message at hand
  std::vector<Reading> readings_;
};

}  // namespace coilward
