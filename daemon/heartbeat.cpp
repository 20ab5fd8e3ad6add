#include "daemon/heartbeat.h"

#include <fmt/format.h>

#include <atomic>
#include <nlohmann/json.hpp>

#include "daemon/alerts/wording.h"
#include "daemon/base/log.h"
#include "daemon/base/pipeline_json.h"
#include "daemon/delivery/worker.h"
#include "plugins/common/curl_call.h"

namespace coilward {
namespace {

constexpr double kAskFor_s = 10;
// A period that the core looks at a little late is not skipped.
constexpr std::chrono::milliseconds kSlack{500};

std::size_t drop_answer(char*, std::size_t size, std::size_t count, void*) { return size * count; }

// Empty: it answered 2xx.
std::string ask(coilward_plugins::CurlCalls& calls, const std::string& url) {
  const coilward_plugins::CurlHandle handle(curl_easy_init());
  if (!handle) return "out of memory";
  curl_easy_setopt(handle.get(), CURLOPT_URL, url.c_str());
  curl_easy_setopt(handle.get(), CURLOPT_USERAGENT, "coilward");
  curl_easy_setopt(handle.get(), CURLOPT_WRITEFUNCTION, drop_answer);
  const auto call = calls.run(handle.get(), "http,https", "", kAskFor_s);
  if (call.interrupted || call.code != CURLE_OK) return call.error;
  long status = 0;
  curl_easy_getinfo(handle.get(), CURLINFO_RESPONSE_CODE, &status);
  return status >= 200 && status < 300 ? "" : fmt::format("HTTP {}", status);
}

}  // namespace

class Heartbeat::Caller {
 public:
  explicit Caller(std::string url)
      : shared_(std::make_shared<Shared>(std::move(url))),
        worker_([shared = shared_] { return shared->step(); },
                [shared = shared_] { shared->calls.interrupt(); }) {}

  void beat() {
    shared_->wanted = true;
    worker_.wake();
  }
  bool stop(Millis limit) { return worker_.stop(limit); }

 private:
  struct Shared {
    explicit Shared(std::string address) : url(std::move(address)) {}
    std::optional<Millis> step() {
      if (!wanted.exchange(false)) return std::nullopt;
      const std::string words = ask(calls, url);
      if (words.empty())
        log::limited_over("heartbeat", "the heartbeat is heard again");
      else
        log::limited(log::Level::warning, "heartbeat",
                     fmt::format("the heartbeat is not heard: {}", one_line(words)));
      return std::nullopt;
    }
    const std::string url;
    coilward_plugins::CurlCalls calls;
    std::atomic<bool> wanted{false};
  };
  std::shared_ptr<Shared> shared_;
  Worker worker_;
};

Heartbeat::Heartbeat(const Config& config, const Clock& clock, Publish publish)
    : config_(config), clock_(clock), publish_(std::move(publish)) {
  if (!config.heartbeat.url.empty()) caller_ = std::make_unique<Caller>(config.heartbeat.url);
}
Heartbeat::~Heartbeat() = default;

void Heartbeat::tick(const std::function<PathSigns()>& signs) {
  const HeartbeatConfig& how = config_.heartbeat;
  if (how.url.empty() && how.topic.empty()) return;
  const auto now = clock_.steady();
  if (now + kSlack < next_) return;
  next_ = now + std::chrono::milliseconds{static_cast<std::int64_t>(how.every_s * 1000)};
  const std::string why = not_sound(signs(), how);
  if (why != why_not_ && !why.empty()) log::warning("no heartbeat: {}", why);
  if (why != why_not_ && why.empty()) log::info("the heartbeat goes on");
  why_not_ = why;
  if (!why.empty()) return;
  ++beats_;
  if (caller_) caller_->beat();
  if (how.topic.empty()) return;
  const Json json = {
      {"site", config_.site.id}, {"time", format_rfc3339(clock_.utc())}, {"every_s", how.every_s}};
  publish_(how.topic, json.dump());
}

bool Heartbeat::stop(std::chrono::milliseconds limit) { return !caller_ || caller_->stop(limit); }

}  // namespace coilward
