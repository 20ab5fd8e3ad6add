#include "daemon/intake/intake.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <numeric>

#include "daemon/intake/intake_impl.h"

namespace coilward {
namespace {
constexpr int kSnapshotVersion = 1;  // raised when what is saved changes its shape
}

std::string_view reject_name(Reject reason) {
  constexpr std::string_view kNames[kRejects] = {"unknown_topic", "too_large",     "undecodable",
                                                 "no_value",      "not_a_channel", "wrong_unit",
                                                 "bad_value",     "implausible",   "retained"};
  return kNames[static_cast<std::size_t>(reason)];
}

std::string_view drop_name(Drop reason) {
  constexpr std::string_view kNames[kDrops] = {"before_intake", "too_many_values"};
  return kNames[static_cast<std::size_t>(reason)];
}

std::uint64_t IntakeCounters::rejected_all() const {
  return std::accumulate(rejected.begin(), rejected.end(), std::uint64_t{0});
}

std::uint64_t IntakeCounters::dropped_all() const {
  return std::accumulate(dropped.begin(), dropped.end(), std::uint64_t{0});
}

Result<std::unique_ptr<Intake>> Intake::make(const Config& config, PluginHost& host) {
  auto topics = TopicMap::make(config);
  if (!topics) return topics.error();
  auto decoders = DecoderSet::make(config, host);
  if (!decoders) return decoders.error();
  auto impl = std::make_unique<Impl>(config, std::move(*topics), std::move(*decoders));
  return std::unique_ptr<Intake>(new Intake(std::move(impl)));
}

Intake::Intake(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Intake::~Intake() = default;

std::span<const Reading> Intake::message(const Message& message) { return impl_->message(message); }
std::span<const ImplausibleSample> Intake::implausible_in_last_message() const { return impl_->implausible_; }
void Intake::lost_before(std::uint64_t messages) { impl_->lost_before(messages); }
const IntakeCounters& Intake::counters() const { return impl_->counters_; }
std::vector<RejectedSample> Intake::recent_rejects() const { return impl_->rejects_.newest_first(); }
std::vector<std::string> Intake::subscriptions() const { return impl_->topics_.subscriptions(); }

Json Intake::save() const {
  return {{"version", kSnapshotVersion}, {"repetition", impl_->repetition_.save(impl_->config_)}};
}

Result<bool> Intake::restore(const Json& saved) {
  try {
    if (saved.at("version") != kSnapshotVersion)
      return Error{Cause::bad_input, "the saved intake is of another version"};
    Repetition restored;
    restored.restore(saved.at("repetition"), impl_->config_);
    impl_->repetition_ = std::move(restored);
    return true;
  } catch (const nlohmann::json::exception& wrong) {
    return Error{Cause::bad_input, std::string("the saved intake cannot be read: ") + wrong.what()};
  }
}

}  // namespace coilward
