#include "daemon/mqtt/client.h"

#include <fmt/format.h>

#include <boost/crc.hpp>
#include <fstream>
#include <nlohmann/json.hpp>
#include <thread>

#include "daemon/mqtt/session.h"

namespace coilward {

class Client::Impl {
 public:
  explicit Impl(std::shared_ptr<Session> made) : session(std::move(made)) {}

  // The thread shares the session: it may have to outlive us.
  void start() {
    thread = std::thread([kept = session] { kept->run(); });
  }

  bool stop(std::chrono::milliseconds within) {
    if (!thread.joinable()) return ended;
    const auto deadline = std::chrono::steady_clock::now() + within;
    session->request_stop(deadline);
    ended = session->wait_ended(deadline);
    session->on_change(nullptr);
    ended ? thread.join() : thread.detach();
    return ended;
  }

  std::shared_ptr<Session> session;
  std::thread thread;
  bool ended = true;
};

Result<std::unique_ptr<Client>> Client::create(ClientOptions options, std::shared_ptr<Spool> spool,
                                               const Clock& clock) {
  return create_taking(
      std::move(options), [spool = std::move(spool)](const Message& message) { spool->append(message); },
      clock);
}

Result<std::unique_ptr<Client>> Client::create_taking(ClientOptions options, Take take, const Clock& clock) {
  auto address = parse_broker_url(options.mqtt.url);
  if (!address) return address.error();
  if (options.mqtt.client_id.empty()) options.mqtt.client_id = default_client_id(options.site);
  auto session = std::make_shared<Session>(std::move(options), std::move(*address), std::move(take), clock);
  return std::unique_ptr<Client>(new Client(std::make_unique<Impl>(std::move(session))));
}

Client::Client(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Client::~Client() { impl_->stop(std::chrono::seconds(2)); }

void Client::on_change(std::function<void()> changed) { impl_->session->on_change(std::move(changed)); }
void Client::start() { impl_->start(); }
void Client::publish(std::string_view topic, std::string_view payload, bool retained) {
  impl_->session->publish({std::string(topic), std::string(payload), retained});
}
void Client::set_time_unsure(bool unsure) { impl_->session->set_time_unsure(unsure); }
ClientStatus Client::status() const { return impl_->session->status(); }
bool Client::stop(std::chrono::milliseconds deadline) { return impl_->stop(deadline); }

std::string_view link_name(Link link) {
  constexpr std::string_view kNames[] = {"stopped", "connecting", "connected", "waiting"};
  return kNames[static_cast<std::size_t>(link)];
}

std::string default_client_id(std::string_view site) {
  std::string machine;
  std::ifstream("/etc/machine-id") >> machine;
  boost::crc_32_type hash;  // machine-id(5): not to be shown to others as it is
  hash.process_bytes(machine.data(), machine.size());
  return fmt::format("coilward-{}-{:08x}", site, hash.checksum());
}

std::string status_report(std::string_view state, std::string_view site, std::string_view version,
                          UtcTime since) {
  nlohmann::ordered_json report{{"state", state}, {"site", site}, {"version", version}};
  report["since"] =
      since == kNever ? nlohmann::ordered_json(nullptr) : nlohmann::ordered_json(format_rfc3339(since));
  return report.dump();
}

}  // namespace coilward
