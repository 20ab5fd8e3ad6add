#include "daemon/mqtt/publisher.h"

#include <unistd.h>

#include <condition_variable>
#include <mutex>
#include <optional>

#include "daemon/mqtt/broker_address.h"
#include "daemon/mqtt/credentials.h"
#include "daemon/mqtt/paho_link.h"
#include "daemon/mqtt/paho_options.h"
#include "daemon/mqtt/trouble.h"

namespace coilward {
namespace {

std::string made_up_id() { return "coilward-publisher-" + std::to_string(::getpid()); }

}  // namespace

class Publisher::Impl {
 public:
  Impl(BrokerAddress address, const MqttConfig& config, std::size_t window, std::chrono::milliseconds timeout)
      : address_(std::move(address)), ca_file_(config.ca_file), window_(window), timeout_(timeout) {
    link_.emplace(
        address_.library_uri(), config.client_id.empty() ? made_up_id() : config.client_id, config.version,
        [](const mqtt::message&) {}, [this](LinkEvent event) { tell(event); });
  }

  ~Impl() {
    if (connected_ && link_->disconnect(std::chrono::milliseconds(0))) {
      wait([this] { return !connected_; }, std::chrono::seconds(1));
    }
  }

  Result<bool> connect(const MqttConfig& config) {
    PahoOptions options;
    options.keep_session = false;
    options.connect_timeout = std::chrono::ceil<std::chrono::seconds>(timeout_);
    mqtt::connect_options made;
    if (auto set = set_paho_options(made, config, options); !set) return set.error();
    if (auto started = link_->connect(made); !started) return started.error();
    // Paho ends the attempt itself; the margin is for a name look-up, which it does not time.
    wait([this] { return connected_ || failed_; }, timeout_ + std::chrono::seconds(20));
    if (connected_) return true;
    return failure();
  }

  Result<std::uint64_t> publish(std::string_view topic, std::string_view payload, bool retained) {
    if (!wait([this] { return sent_ - acknowledged_ < window_ || !connected_; }, timeout_)) {
      return Error{Cause::world,
                   "the broker at " + address_.text() + " does not acknowledge what it is sent"};
    }
    if (!connected()) return lost();
    const Outgoing message{std::string(topic), std::string(payload), retained};
    const std::uint64_t number = count_sent(+1);  // before, for the acknowledgement may be faster
    if (auto started = link_->publish(message, 0); !started) {
      count_sent(-1);
      return started.error();
    }
    return number;
  }

  Result<bool> flush(std::chrono::milliseconds timeout) {
    wait([this] { return sent_ == acknowledged_ || !connected_; }, timeout);
    std::lock_guard lock(mutex_);
    if (sent_ == acknowledged_) return true;
    if (!connected_) return lost();
    return Error{Cause::world, "the broker at " + address_.text() + " does not acknowledge what it was sent"};
  }

  std::uint64_t acknowledged() const {
    std::lock_guard lock(mutex_);
    return acknowledged_;
  }

 private:
  void tell(LinkEvent event) noexcept {
    {
      std::lock_guard lock(mutex_);
      if (event.kind == LinkEvent::connected) connected_ = true;
      if (event.kind == LinkEvent::lost || event.kind == LinkEvent::disconnected) connected_ = false;
      if (event.kind == LinkEvent::failed) failed_ = event.code;
      if (event.kind == LinkEvent::published) ++acknowledged_;
    }
    happened_.notify_all();
  }

  template <class Condition>
  bool wait(Condition condition, std::chrono::milliseconds timeout) {
    std::unique_lock lock(mutex_);
    return happened_.wait_for(lock, timeout, condition);
  }

  std::uint64_t count_sent(int change) {
    std::lock_guard lock(mutex_);
    return sent_ += static_cast<std::uint64_t>(change);
  }

  bool connected() const {
    std::lock_guard lock(mutex_);
    return connected_;
  }

  Error lost() const { return {Cause::world, "the connection to " + address_.text() + " was lost"}; }

  Error failure() const {
    const int code = failed_.value_or(-1);
    const Diagnosed why = code > 0 ? diagnose_refusal(code) : diagnose_silence(address_, ca_file_);
    return {Cause::world, why.detail};
  }

  const BrokerAddress address_;
  const std::string ca_file_;
  const std::size_t window_;
  const std::chrono::milliseconds timeout_;
  mutable std::mutex mutex_;  // a leaf; never held while calling Paho
  std::condition_variable happened_;
  bool connected_ = false;
  std::optional<int> failed_;
  std::uint64_t sent_ = 0;
  std::uint64_t acknowledged_ = 0;
  std::optional<PahoLink> link_;  // last: gone before what its events touch
};

Result<std::unique_ptr<Publisher>> Publisher::connect(const MqttConfig& config, std::size_t window,
                                                      std::chrono::milliseconds timeout) {
  auto address = parse_broker_url(config.url);
  if (!address) return address.error();
  auto impl =
      std::make_unique<Impl>(std::move(*address), config, std::clamp<std::size_t>(window, 1, 1000), timeout);
  if (auto connected = impl->connect(config); !connected) return connected.error();
  return std::unique_ptr<Publisher>(new Publisher(std::move(impl)));
}

Publisher::Publisher(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Publisher::~Publisher() = default;

Result<std::uint64_t> Publisher::publish(std::string_view topic, std::string_view payload, bool retained) {
  return impl_->publish(topic, payload, retained);
}
Result<bool> Publisher::flush(std::chrono::milliseconds timeout) { return impl_->flush(timeout); }
std::uint64_t Publisher::acknowledged() const { return impl_->acknowledged(); }

}  // namespace coilward
