#include "daemon/fleet/server/fleet_daemon.h"

#include <systemd/sd-daemon.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <csignal>

#include "daemon/base/log.h"
#include "daemon/fleet/server/fleet_desk.h"
#include "daemon/mqtt/credentials.h"
#include "daemon/web/http_server.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;
namespace asio = boost::asio;

constexpr auto kStop = 1500ms;
constexpr auto kSignOfLife = 5s;

Result<std::string> password_of(const FleetServerConfig& config) {
  return config.password_file.empty() ? Result<std::string>(std::string())
                                      : read_secret(config.password_file);
}

}  // namespace

class FleetDaemon::Impl {
 public:
  Impl(const FleetServerConfig& config, std::unique_ptr<IngestLine> ingest, const std::string& password)
      : config_(config),
        ingest_(std::move(ingest)),
        desk_(
            config, password, clock(), [this] { return ingest_->state(); },
            [this](std::function<void()> call) { asio::post(core_, std::move(call)); }) {}

  // Of the process: Paho's threads may outlive everything else.
  static const Clock& clock() {
    static const SystemClock clock;
    return clock;
  }

  Result<bool> run() {
    HttpOptions options;
    options.tcp_port = static_cast<std::uint16_t>(config_.http.port);
    if (config_.http.port > 0) {
      auto server = HttpServer::start(core_, desk_, options);
      if (!server) return server.error();
      http_ = std::move(*server);
    }
    ingest_->start();
    wait_for_signals();
    sign_of_life();
    ::sd_notify(0, "READY=1");
    log::info("all sites: broker {}, page on port {}", config_.mqtt.url, config_.http.port);
    core_.run();
    ::sd_notify(0, "STOPPING=1");
    if (http_) http_->stop();
    if (!ingest_->stop(kStop)) left_behind_ = true;
    if (!desk_.stop(kStop)) left_behind_ = true;
    core_.restart();
    core_.poll();
    return true;
  }

  bool left_behind_ = false;

 private:
  void wait_for_signals() {
    signals_.async_wait([this](boost::system::error_code error, int signal) {
      if (error) return;
      if (signal != SIGHUP) return core_.stop();
      log::warning("start again to use a changed configuration: nothing is kept here, so that costs nothing");
      wait_for_signals();
    });
  }

  void sign_of_life() {
    timer_.expires_after(kSignOfLife);
    timer_.async_wait([this](boost::system::error_code error) {
      if (error) return;
      ::sd_notify(0, "WATCHDOG=1");
      sign_of_life();
    });
  }

  const FleetServerConfig config_;
  asio::io_context core_{1};
  asio::steady_timer timer_{core_};
  asio::signal_set signals_{core_, SIGTERM, SIGINT, SIGHUP};
  std::unique_ptr<IngestLine> ingest_;
  FleetDesk desk_;
  std::unique_ptr<HttpServer> http_;
};

Result<std::unique_ptr<FleetDaemon>> FleetDaemon::make(const FleetServerConfig& config,
                                                       const std::string& version) {
  if (auto good = Postgres::check_url(config.database); !good)
    return Error{Cause::bad_config, config.file + ": database.url: " + good.error().what};
  auto password = password_of(config);
  if (!password) return password.error();
  auto ingest = IngestLine::make(config, *password, version, Impl::clock());
  if (!ingest) return ingest.error();
  return std::unique_ptr<FleetDaemon>(
      new FleetDaemon(std::make_unique<Impl>(config, std::move(*ingest), *password)));
}

FleetDaemon::FleetDaemon(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
FleetDaemon::~FleetDaemon() = default;
Result<bool> FleetDaemon::run() { return impl_->run(); }
bool FleetDaemon::left_threads_behind() const { return impl_->left_behind_; }

}  // namespace coilward
