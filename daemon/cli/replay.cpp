#include "daemon/cli/replay.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <optional>

#include "daemon/cli/exit_code.h"
#include "daemon/cli/replay_state.h"
#include "daemon/cli/say.h"
#include "daemon/cli/site_stages.h"
#include "daemon/cli/words.h"
#include "daemon/intake/recording_reader.h"

namespace coilward {
namespace {

constexpr std::uint64_t kBadLinesShown = 3;
constexpr Millis kTick{1000};  // the daemon lets time pass once a second
// In a hole longer than this nothing new happens any more, and time may pass in larger steps.
constexpr Millis kLongHole = std::chrono::hours{1};
constexpr Millis kStepInHole = std::chrono::minutes{1};

std::string finding_line(const Finding& f, const Config& config) {
  const char* what = !f.is_open() ? "closed" : f.opened == f.updated ? "opened" : "changed";
  return fmt::format("{}  {:<7}  {:<6}  {:>4}  {} {}: {} [{}]\n",
                     local_seconds(f.updated, config.site.timezone), what, severity_name(f.severity),
                     fmt::format("{:.0f} %", 100 * f.probability), fault_name(f.fault), outputs(f.zones),
                     f.is_open() ? f.summary : f.close_reason, f.id);
}

class Replay final : public PipelineListener {
 public:
  Replay(const ReplayOptions& options, SiteStages& stages, ReplayState* state)
      : options_(options), stages_(stages), state_(state) {}

  void on_reading(const Reading& reading) override {
    if (state_) state_->reading(reading);
  }
  void on_run(const Run& run) override {
    if (state_) state_->run(run);
  }
  void on_finding(const Finding& finding) override {
    const Config& config = stages_.config();
    if (options_.json)
      print_json(finding_to_json(finding, config.site.id));
    else
      print(finding_line(finding, config));
    std::fflush(stdout);
    if (state_) state_->finding(finding, now_);
  }

  void on_forecast(const Finding& finding) override {
    if (state_) state_->finding(finding, now_);
  }

  Result<bool> run_all(RecordingReader& reader) {
    Pipeline& pipeline = stages_.pipeline();
    Message message;
    while (reader.next(message)) {
      ++messages_;
      pass_until(message.arrival);
      pipeline.message(message);
      if (state_ && (messages_ & 1023) == 0)
        if (auto kept = state_->settle(now_); !kept) return kept;
    }
    if (messages_ == 0) return true;
    pipeline.advance(now_);
    return state_ ? state_->finish(now_) : Result<bool>(true);
  }

  std::uint64_t messages() const { return messages_; }

 private:
  // Silences and ends of runs that lie between two messages come before the second.
  void pass_until(UtcTime time) {
    if (now_ == kNever) now_ = time;
    const UtcTime began = now_;
    while (now_ + kTick <= time) {
      const bool long_hole = now_ - began >= kLongHole && now_ + kStepInHole <= time;
      now_ += long_hole ? kStepInHole : kTick;
      stages_.pipeline().advance(now_);
    }
    now_ = std::max(now_, time);
  }

  const ReplayOptions& options_;
  SiteStages& stages_;
  ReplayState* state_;
  UtcTime now_ = kNever;
  std::uint64_t messages_ = 0;
};

void tell_bad_lines(RecordingReader& reader) {
  auto shown = std::make_shared<std::uint64_t>(0);
  reader.on_bad_line([shown](std::uint64_t line, std::string_view why) {
    if (++*shown <= kBadLinesShown) say(fmt::format("line {} is passed over: {}", line, why));
  });
}

int closing_words(const RecordingReader& reader, const Replay& replay, const IntakeCounters& taken) {
  if (!reader.error().empty()) return say(reader.error()), kExitFailed;
  say(fmt::format("{} messages of {} lines, {} bad lines, {} payloads cut short", replay.messages(),
                  reader.lines(), reader.bad_lines(), reader.cut_payloads()));
  say(fmt::format("{} readings taken, {} rejected, {} duplicates", taken.stored, taken.rejected_all(),
                  taken.duplicates));
  if (replay.messages() > 0) return kExitDone;
  say("nothing in it could be read: a recording is what mosquitto_sub -F '%j' prints");
  return kExitFailed;
}

}  // namespace

int replay(const ReplayOptions& options) {
  const auto stages = SiteStages::build(options.config);
  if (!stages) return fail(stages.error());
  auto reader = RecordingReader::open(options.recording);
  if (!reader) return say(reader.error().what), kExitFailed;
  std::unique_ptr<ReplayState> state;
  if (!options.state.empty()) {
    auto opened = ReplayState::open(options.state, **stages);
    if (!opened) return fail(opened.error());
    state = std::move(*opened);
    if (state->went_on()) say("goes on from the state of " + format_rfc3339(state->taken()));
  }
  Replay replay(options, **stages, state.get());
  (*stages)->listen(&replay);
  tell_bad_lines(*reader);
  const auto done = replay.run_all(*reader);
  (*stages)->listen(nullptr);
  if (!done) return fail(done.error());
  return closing_words(*reader, replay, (*stages)->intake().counters());
}

}  // namespace coilward
