#include "daemon/daemon.h"
#include "daemon/commission_desk.h"

#include <fmt/format.h>
#include <systemd/sd-daemon.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <csignal>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <thread>

#include "daemon/alerts/wording.h"
#include "daemon/backups.h"
#include "daemon/base/log.h"
#include "daemon/base/side_thread.h"
#include "daemon/broker_link.h"
#include "daemon/delivery_line.h"
#include "daemon/door.h"
#include "daemon/give_back.h"
#include "daemon/history/state_directory.h"
#include "daemon/host/plugin_host.h"
#include "daemon/installation_watch.h"
#include "daemon/intake/intake.h"
#include "daemon/message_in_hand.h"
#include "daemon/metrics_of.h"
#include "daemon/notes_worker.h"
#include "daemon/phone_desk.h"
#include "daemon/site.h"
#include "daemon/stop_signals.h"
#include "daemon/uplink_line.h"
#include "daemon/vitals.h"
#include "daemon/web/api.h"
#include "daemon/web/http_server.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;
namespace asio = boost::asio;

// Messages taken from the spool before the loop looks at anything else.
constexpr std::size_t kBatch = 512;
constexpr auto kTick = 1s;
// Memory goes back to the system this often: an exporter's batch takes megabytes, every five minutes.
constexpr int kTicksBetweenGivingBack = 60;
// SIGTERM to gone in 5 s in every state (facts C58): the parts' limits add up to less.
constexpr auto kKeeperStop = 2000ms, kDeliveryStop = 1000ms, kBrokerStop = 1500ms, kHeartbeatStop = 300ms,
               kUplinkStop = 400ms;

}  // namespace

class Daemon::Impl {
 public:
  Impl(Config config, std::string version)
      : config_(std::move(config)), version_(std::move(version)), host_(config_.paths.plugins) {}

  Result<bool> make() {
    auto intake = Intake::make(config_, host_);
    if (!intake) return intake.error();
    intake_ = std::move(*intake);
    auto line = DeliveryLine::make(config_, host_, clock_);
    if (!line) return line.error();
    delivery_ = std::move(*line);
    auto door = Door::make(config_, core_, clock_);
    if (!door) return door.error();
    door_ = std::move(*door);
    std::error_code error;
    std::filesystem::create_directories(config_.paths.run, error);
    if (error)
      return Error{Cause::world,
                   fmt::format("the directory {} cannot be made: {}", config_.paths.run, error.message())};
    auto lock = StateDirectory::lock(config_.paths.state);
    if (!lock) return lock.error();
    lock_.emplace(std::move(*lock));
    auto in_hand = MessageInHand::open(config_.paths.run);
    if (!in_hand) return in_hand.error();
    in_hand_ = std::move(*in_hand);
    auto uplink = UplinkLine::open(config_, version_, clock_);
    if (!uplink) return uplink.error();
    uplink_ = std::move(*uplink);
    return start_keeper();
  }

  Result<DaemonEnd> run() {
    let_stop_signals_in();
    make_site();
    if (auto opened = open_spool(); !opened) return opened.error();
    if (auto serving = serve(); !serving) return serving.error();
    delivery_->start(state_path(config_.paths.state), history_path(config_.paths.state));
    broker_->start();
    uplink_.start();
    wait_for_signals();
    tick();
    drain();
    vitals_.ready();
    give_back_memory();
    log::info("watching {} zones of {}; broker {}", config_.zones.size(), config_.site.id, config_.mqtt.url);
    core_.run();
    stop_all();
    return end_;
  }

  Config config_;
  Config next_config_;
  bool left_behind_ = false;

 private:
  Result<bool> start_keeper() {
    KeeperOptions options;
    options.directory = config_.paths.state;
    options.site = config_.site.id;
    options.names = ChannelNames(config_);
    options.raw_days = config_.history.raw_days;
    KeeperEvents events;
    events.on_complete = [this](std::uint64_t mark) {
      uplink_.wake();
      asio::post(core_, [this, mark] {
        if (broker_) broker_->trim(mark);
      });
    };
    events.on_outbox = [this] { delivery_->wake(); };
    events.on_outbox_unsaved = [this](const std::vector<OutboxRow>& rows) {
      delivery_->deliver_unsaved(rows);
    };
    events.on_health = [this](const KeeperHealth& health) {
      asio::post(core_, [this, health] { keeper_changed(health); });
    };
    auto keeper = Keeper::start(std::move(options), std::move(events), clock_);
    if (!keeper) return keeper.error();
    keeper_ = std::move(*keeper);
    backups_.emplace(core_, *keeper_, config_.paths.state, clock_);
    return true;
  }

  void make_site() {
    SiteLinks links;
    links.commit = [this](CommitUnit unit) {
      keeper_->post(std::move(unit));
      vitals_.posted();
    };
    links.publish = [this](const std::string& topic, const std::string& payload, bool retained) {
      broker_->publish(topic, payload, retained);
    };
    links.health = [this] { return health(); };
    links.metrics = [this] { return metrics(); };
    links.committing = [this](Channel channel) { return keeper_->waiting(channel); };
    links.test_alert = [this](const std::string& notifier, JsonCallback answer) {
      test_alert(notifier, std::move(answer));
    };
    links.backup = [this](const std::string& target, JsonCallback answer) {
      site_->commit();
      backups_->make(target, std::move(answer));
    };
    links.notifiers = [this] { return delivery_->notifiers(); };
    links.phone_desk = &phone_desk_;
    notes_.emplace(core_, notes_path(config_.paths.state));
    links.notes = [this](const std::string& finding) {
      return read_notes(notes_path(config_.paths.state), finding);
    };
    links.notes_desk = &*notes_;
    links.commission_desk = &commission_desk_;
    links.aside = [this](std::function<void()> work, std::function<void()> then) {
      thinker_.give([this, work = std::move(work), then = std::move(then)] {
        work();
        asio::post(core_, then);
      });
    };
    site_ = std::make_unique<Site>(config_, *intake_, clock_, version_, std::move(links));
    if (auto restored = site_->restore(keeper_->snapshot()); !restored) {
      log::warning("starting to learn anew: {}", restored.error().what);
      site_->happened("snapshot", Severity::soon, {{"why", restored.error().what}});
    }
    tell_repairs(keeper_->health());
  }

  void tell_repairs(const KeeperHealth& health) {
    for (; repairs_told_ < health.repairs.size(); ++repairs_told_)
      site_->happened("repair", Severity::soon, {{"why", health.repairs[repairs_told_]}});
  }

  Result<bool> open_spool() {
    const KeeperMarks marks = keeper_->marks();
    auto link = BrokerLink::open(config_, version_, intake_->subscriptions(),
                                 std::max(marks.history, marks.state) + 1, clock_);
    if (!link) return link.error();
    broker_ = std::move(*link);
    broker_->on_arrival([this] { asio::post(core_, [this] { drain(); }); });
    broker_->on_change([this] { asio::post(core_, [this] { broker_changed(); }); });
    const bool unsure =
        clock_.utc() < from_ms(1'577'836'800'000) || clock_.utc() < keeper_->snapshot().taken;  // 2020-01-01
    broker_->set_time_unsure(unsure);
    watch_ = std::make_unique<InstallationWatch>(
        InstallationWatch::Parts{config_, clock_, *site_, *broker_, *keeper_, *delivery_, *door_, vitals_});
    return true;
  }

  Result<bool> serve() {
    api_ = std::make_unique<Api>(*site_, &door_->logins());
    HttpOptions options;
    options.socket_path = config_.paths.run + "/coilward.sock";
    if (config_.http.port > 0) options.tcp_port = static_cast<std::uint16_t>(config_.http.port);
    options.address = config_.http.address;
    options.tls = door_->certificate();
    options.behind_proxy = config_.http.behind_proxy;
    auto server = HttpServer::start(core_, *api_, options);
    if (!server) return server.error();
    http_ = std::move(*server);
    return true;
  }

  // From the spool into the pipeline, a batch at a time so that requests and timers get their turn.
  void drain() {
    if (stopping_) return;
    const std::size_t taken = read_spool();
    intake_->lost_before(broker_->newly_lost());
    behind_ = taken == kBatch;
    if (taken > 0) site_->tick(behind_);
    if (behind_) asio::post(core_, [this] { drain(); });
  }

  std::size_t read_spool() {
    const std::uint64_t kept = keeper_->marks().history;
    return broker_->read(site_->last_sequence(), kBatch, [&](const Message& m) {
      if (in_hand_->crashes(m)) return site_->leave_out(m);
      in_hand_->take(m);
      site_->message(m, m.sequence > kept);
      in_hand_->put_down();
    });
  }

  void tick() {
    timer_.expires_after(kTick);
    timer_.async_wait([this](boost::system::error_code error) {
      if (error || stopping_) return;
      if (clock_.utc() >= from_ms(1'577'836'800'000) && broker_->time_unsure()) clock_set();
      site_->tick(behind_);
      vitals_.beat(keeper_->health());
      watch_->look();
      uplink_.tell(watch_->health());
      if (++ticks_ % kTicksBetweenGivingBack == 0) give_back_memory();
      tick();
    });
  }

  void clock_set() {
    broker_->set_time_unsure(false);
    delivery_->wake();
  }

  void broker_changed() {
    if (stopping_) return;
    const auto state = broker_->state();
    if (state.connected) site_->report_all();
    vitals_.status(state.connected ? "watching" : state.why);
  }

  void keeper_changed(const KeeperHealth& health) {
    if (health.trouble.empty())
      log::limited_over("disk", "recording goes on");
    else
      log::limited(log::Level::error, "disk", fmt::format("nothing can be recorded: {}", health.trouble));
    if (health.repairs.size() == repairs_told_) return;
    tell_repairs(health);
    delivery_->wake();  // what was carried over waits in another file
  }

  std::vector<HealthStage> health() const {
    std::vector<HealthStage> list = watch_->health();
    uplink_.add_health(list);
    return list;
  }

  std::vector<Metric> metrics() const {
    std::vector<Metric> list;
    add_intake_metrics(intake_->counters(), list);
    broker_->add_metrics(list);
    add_keeper_metrics(keeper_->health(), list);
    delivery_->add_metrics(list);
    uplink_.add_metrics(list);
    return list;
  }

  void test_alert(const std::string& notifier, JsonCallback answer) {
    const Alert alert = coilward::test_alert(config_, clock_.utc());
    delivery_->test(notifier, alert_to_json(alert).dump(), [this, answer](Result<Json> result) {
      asio::post(core_, [answer, result = std::move(result)] { answer(result); });
    });
  }

  void wait_for_signals() {
    signals_.async_wait([this](boost::system::error_code error, int signal) {
      if (error) return;
      if (stopping_) {  // for the next daemon
        ::raise(signal);
        return wait_for_signals();
      }
      if (signal == SIGHUP && !reload()) return wait_for_signals();
      hold_stop_signals();
      end_ = signal == SIGHUP ? DaemonEnd::reload : DaemonEnd::stop;
      log::info("{}", signal == SIGHUP ? "starting again with the new configuration" : "stopping");
      stopping_ = true;
      core_.stop();
      wait_for_signals();
    });
  }

  // The whole new configuration is tried first; a wrong one changes nothing and is said loudly.
  bool reload() {
    vitals_.reloading();
    auto config = load_config(config_.file);
    Result<bool> good = config ? try_parts(*config) : Result<bool>(config.error());
    if (good) good = door_->fits(*config);
    if (good) {
      next_config_ = std::move(*config);
      next_config_.paths.state = config_.paths.state;
      next_config_.paths.run = config_.paths.run;
      watch_->reload_refused({});
      return true;
    }
    log::error("the new configuration is wrong, the old one stays in force:\n{}", good.error().what);
    watch_->reload_refused(good.error().what);
    vitals_.ready();
    return false;
  }

  static Result<bool> try_parts(const Config& config) {
    PluginHost host(config.paths.plugins);
    SystemClock clock;
    if (auto intake = Intake::make(config, host); !intake) return intake.error();
    if (auto line = DeliveryLine::make(config, host, clock); !line) return line.error();
    return true;
  }

  void stop_all() {
    vitals_.stopping();
    http_->stop();
    thinker_.drop();  // nobody waits for the answers any more
    if (!watch_->stop(kHeartbeatStop)) left_behind_ = true;
    if (!broker_->stop(kBrokerStop)) left_behind_ = true;
    if (!uplink_.stop(kUplinkStop)) left_behind_ = true;
    core_.restart();
    core_.poll();
    while (read_spool() == kBatch) {
    }
    site_->tick();
    site_->commit();
    if (!keeper_->stop(kKeeperStop))
      log::error("not everything could be committed before stopping; it is still in the spool");
    if (!delivery_->stop(kDeliveryStop)) left_behind_ = true;
    backups_->stop();
    core_.poll();
  }

  SystemClock clock_;
  std::string version_;
  PluginHost host_;
  WebPushDesk phone_desk_{config_, clock_};
  std::optional<StateDirectory> lock_;
  std::unique_ptr<MessageInHand> in_hand_;
  asio::io_context core_{1};
  asio::steady_timer timer_{core_};
  asio::signal_set signals_{core_, SIGTERM, SIGINT, SIGHUP};
  std::unique_ptr<Intake> intake_;
  std::unique_ptr<DeliveryLine> delivery_;
  UplinkLine uplink_;
  std::unique_ptr<Keeper> keeper_;
  std::unique_ptr<BrokerLink> broker_;
  std::unique_ptr<Site> site_;
  std::unique_ptr<Door> door_;
  std::unique_ptr<Api> api_;
  std::unique_ptr<HttpServer> http_;
  std::optional<Backups> backups_;
  std::optional<NotesWorker> notes_;
  SiteCommissionDesk commission_desk_{core_, config_, clock_,
                                      [this]() -> const SiteAccess& { return *site_; }};
  Vitals vitals_;
  std::unique_ptr<InstallationWatch> watch_;
  DaemonEnd end_ = DaemonEnd::stop;
  bool stopping_ = false;
  unsigned ticks_ = 0;
  bool behind_ = false;  // more is in the spool than was read
  std::size_t repairs_told_ = 0;
  SideThread thinker_;  // of answers that take thought; ends first: its jobs use the rest
};

Daemon::Daemon(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Daemon::~Daemon() = default;

Result<std::unique_ptr<Daemon>> Daemon::make(Config config, std::string version) {
  auto impl = std::make_unique<Impl>(std::move(config), std::move(version));
  if (auto made = impl->make(); !made) return made.error();
  return std::unique_ptr<Daemon>(new Daemon(std::move(impl)));
}

Result<DaemonEnd> Daemon::run() { return impl_->run(); }
Config Daemon::next_config() const { return impl_->next_config_; }
bool Daemon::left_threads_behind() const { return impl_->left_behind_; }

}  // namespace coilward
