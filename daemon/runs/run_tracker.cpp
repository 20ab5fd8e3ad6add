#include "daemon/runs/run_tracker.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "daemon/runs/unseen_returns.h"
#include "daemon/runs/zone_track.h"

namespace coilward {
namespace {

// A supply or temperature heard longer ago than this says nothing of now.
constexpr double kSupplyFreshSeconds = 120;
constexpr double kTemperatureFreshSeconds = 6 * 3600;
// Links and brokers come and go; when nothing was heard for two days, a day's watering went by unwatched.
constexpr double kLinkLostSeconds = 49 * 3600;
// Of one that has not been heard for long yet: it may speak while a zone is on alone, every few days. Unless
// it has been speaking all the time.
constexpr double kNewLinkLostSeconds = 8 * 86400, kNewLinkSeconds = 48 * 3600;
constexpr double kChattySeconds = 12 * 3600, kChattyGapSeconds = 15 * 60;
// A silence of all sensors that is worth a word: shorter ones are a broker's or a gateway's restart (own
// choice).
constexpr double kLeastSilenceSeconds = 60, kLearnedSilenceSeconds = 600;
// No transformer of 24 V reads less than this when it works; a power cut is over within minutes, as a rule
// (common practice).
constexpr double kDeadSupplyVolts = 5, kDeadSupplySeconds = 900;

double every_of(const Config& config, int zone) {
  const std::string name =
      zone == kMasterZone ? "master/current" : "zone/" + std::to_string(zone) + "/current";
  for (const auto& sensor : config.sensors)
    if (sensor.channel == name) return sensor.every_s;
  return kNotMeasured;
}

}  // namespace

class RunTracker::Impl final : public ZoneTrackOwner {
 public:
  Impl(const Config& config, RunListener& listener) : config_(config), listener_(listener) {
    for (const auto& zone : config.zones) add(zone.number);
    if (config.master.present) add(kMasterZone);
  }

  UtcTime link_back() const { return link_back_; }

  // Who promises an interval keeps it; else what was usual so far, once that is known.
  Silence silence() const {
    double promised_s = kNotMeasured;
    for (const int number : numbers_)
      if (const double every_s = every_of(config_, number); measured(every_s))
        promised_s = measured(promised_s) ? std::min(promised_s, every_s) : every_s;
    if (measured(promised_s)) return {heard_, std::max(kLeastSilenceSeconds, 3 * promised_s)};
    if (heard_ == kNever || !knows_its_gaps()) return {heard_, kNotMeasured};
    return {heard_, std::max(kLearnedSilenceSeconds, 3 * usual_gap_s_)};
  }

  void reading(const Reading& r) {
    hear(r.time);
    switch (r.channel.kind) {
      case ChannelKind::zone_current:
        if (auto* z = track(r.channel.index)) z->current(r.time, r.value, link_back_);
        break;
      case ChannelKind::master_current:
        if (auto* z = track(kMasterZone)) z->current(r.time, r.value, link_back_);
        break;
      case ChannelKind::zone_command:
        if (auto* z = track(r.channel.index)) z->command(r.time, r.value >= 0.5);
        break;
      case ChannelKind::master_command:
        if (auto* z = track(kMasterZone)) z->command(r.time, r.value >= 0.5);
        break;
      case ChannelKind::zone_voltage:
        zone_volts(r);
        break;
      case ChannelKind::common_current:
        common_amps(r);
        break;
      case ChannelKind::supply_voltage:
        supply_volts(r);
        break;
      case ChannelKind::soil_temperature:
        site_.soil_celsius = r.value;
        soil_time_ = r.time;
        break;
      case ChannelKind::air_temperature:
        site_.air_celsius = r.value;
        air_time_ = r.time;
        break;
    }
  }

  // Zones' own timers; a second is finer than any of them.
  void advance(UtcTime now) {
    site_.now = std::max(site_.now, now);
    if (now < next_advance_) return;
    next_advance_ = now + std::chrono::seconds{1};
    if (watch_link(now)) return;
    for (auto& zone : zones_) zone->advance(now, link_back_);
    if (!stale_supply_ && supply_.is_stale(now, link_back_)) tell_supply(IdleKind::stale, now);
  }

  ZoneTrack* track(int zone) const { return by_number_[static_cast<std::size_t>(zone)]; }
  const SiteContext& context() const { return site_; }
  bool any_on() const { return on_ > 0; }
  double returned_unseen(int zone, UtcTime from, UtcTime to) const {
    const ZoneConfig* of = config_.zone(zone);
    return of ? unseen_returns_.amps(of->common, from, to) : kNotMeasured;
  }

  // ---- ZoneTrackOwner
  void run_started(int zone) override {
    auto& mine = *track(zone)->run();
    for (auto& other : zones_) {
      // A run without an end, a moved zero perhaps, is not company.
      if (other->run() && other->run()->zone() != zone && !other->unasked()) {
        other->run()->other_on(zone, mine.start());
        mine.other_on(other->run()->zone(), other->run()->start());
      }
    }
    ++on_;
    listener_.on_start(zone, mine.start());
  }

  void run_looked_at(int zone, Look look, UtcTime end, RunEnd ended) override {
    listener_.on_look(complete(zone, end, ended), look);
  }

  void run_finished(int zone, UtcTime end, RunEnd ended) override {
    const Run run = complete(zone, end, ended);
    for (auto& other : zones_)
      if (other->run() && other->run()->zone() != zone) other->run()->other_off(zone, end);
    --on_;
    listener_.on_look(run, Look::finished);
  }

  void idle_event(const IdleEvent& event) override { listener_.on_idle(event); }

  Json save() const {
    Json zones = Json::object();
    for (const auto& number : numbers_) zones[std::to_string(number)] = track(number)->save();
    return {{"zones", zones},
            {"on", on_},
            {"now", to_ms(site_.now)},
            {"supply_volts", number_or_null(site_.supply_volts)},
            {"supply_time", to_ms(site_.supply_time)},
            {"supply_volts_idle", number_or_null(site_.supply_volts_idle)},
            {"soil", number_or_null(site_.soil_celsius)},
            {"soil_time", to_ms(soil_time_)},
            {"air", number_or_null(site_.air_celsius)},
            {"air_time", to_ms(air_time_)},
            {"supply", supply_.save()},
            {"stale_supply", stale_supply_},
            {"dead_supply", {to_ms(dead_supply_since_), told_dead_supply_}},
            {"link_back", to_ms(link_back_)},
            {"heard", to_ms(heard_)},
            {"first_heard", to_ms(first_heard_)},
            {"told_link", told_link_},
            {"usual_gap_s", usual_gap_s_}};
  }

  void restore(const Json& j) {
    for (const auto& number : numbers_)
      if (const auto it = j.at("zones").find(std::to_string(number)); it != j.at("zones").end())
        track(number)->restore(*it);
    on_ = static_cast<int>(
        std::count_if(zones_.begin(), zones_.end(), [](const auto& z) { return z->run().has_value(); }));
    const auto number = [&](const char* key) {
      return j.at(key).is_null() ? kNotMeasured : j.at(key).get<double>();
    };
    site_ = {from_ms(j.at("now")),        number("supply_volts"), from_ms(j.at("supply_time")),
             number("supply_volts_idle"), number("soil"),         number("air")};
    soil_time_ = from_ms(j.at("soil_time"));
    air_time_ = from_ms(j.at("air_time"));
    supply_.restore(j.at("supply"));
    stale_supply_ = j.at("stale_supply");
    dead_supply_since_ = from_ms(j.at("dead_supply").at(0));
    told_dead_supply_ = j.at("dead_supply").at(1);
    link_back_ = from_ms(j.at("link_back"));
    heard_ = from_ms(j.at("heard"));
    first_heard_ = from_ms(j.value("first_heard", to_ms(heard_)));
    told_link_ = j.at("told_link");
    usual_gap_s_ = j.at("usual_gap_s");
  }

 private:
  void add(int number) {
    zones_.push_back(std::make_unique<ZoneTrack>(number, every_of(config_, number), *this));
    by_number_[static_cast<std::size_t>(number)] = zones_.back().get();
    numbers_.push_back(number);
  }

  // A gap in everything is the link's or our own, not the sensors': their silence counts from its end.
  void hear(UtcTime time) {
    quiet_looks_ = 0;
    if (heard_ != kNever && time > heard_) {
      const double gap = seconds_between(heard_, time);
      if (gap > quiet_after_s()) link_back_ = time;
      usual_gap_s_ = std::max(gap, usual_gap_s_ * std::exp(-gap / kGapMemorySeconds));
    }
    if (told_link_) tell_link(IdleKind::link_back, time);
    if (first_heard_ == kNever) first_heard_ = time;
    heard_ = std::max(heard_, time);
    site_.now = std::max(site_.now, time);
  }

  double quiet_after_s() const { return std::max(60.0, 1.5 * usual_gap_s_); }

  // A rain delay looks the same as the silence of one that speaks seldom.
  bool knows_its_gaps() const {
    const double heard_s = seconds_between(first_heard_, heard_);
    const bool chatty = usual_gap_s_ < kChattyGapSeconds && heard_s > kChattySeconds;
    return chatty || (heard_s > kNewLinkSeconds && usual_gap_s_ <= kSpeaksSeldomSeconds);
  }

  double lost_after_s() const { return knows_its_gaps() ? kLinkLostSeconds : kNewLinkLostSeconds; }

  // true: nothing is heard of the whole site, which says nothing of any one sensor. Said at the second look
  // only: the next message may be just arriving.
  bool watch_link(UtcTime now) {
    if (heard_ == kNever || seconds_between(heard_, now) <= quiet_after_s()) return false;
    ++quiet_looks_;
    const bool lasting = seconds_between(heard_, now) > std::max(lost_after_s(), 2 * quiet_after_s());
    if (lasting && quiet_looks_ > 1 && !told_link_) tell_link(IdleKind::link_silent, now);
    return true;
  }

  void tell_link(IdleKind kind, UtcTime now) {
    told_link_ = kind == IdleKind::link_silent;
    listener_.on_idle({kind, {}, heard_, now, kNotMeasured, usual_gap_s_});
  }

  // While the level is taken: after the transient, within the first minute.
  static bool settled_at(const ZoneTrack& zone, UtcTime time) {
    const double on_s = seconds_between(zone.run()->start(), time);
    return on_s > 0.8 && on_s < 76;
  }

  void zone_volts(const Reading& r) {
    auto* z = track(r.channel.index);
    if (!z) return;
    z->volts(r.time, r.value / config_.supply.volts);
    if (z->run() && settled_at(*z, r.time)) z->run()->zone_volts(r.value);
  }

  // An output that carries current outside of a run.
  bool carries_unasked(const ZoneTrack& zone) const {
    return zone.unasked() || (!zone.run() && zone.watch().latest_amps() > zone.watch().on_above());
  }

  // What comes back counts for the outputs that are known to be on alone.
  void common_amps(const Reading& r) {
    unseen_returns_.reading(r.channel.index, r.time, r.value, on_ > 0);
    const bool others = std::any_of(zones_.begin(), zones_.end(), [&](const auto& z) {
      const ZoneConfig* zone = config_.zone(z->zone());
      return zone && zone->common == r.channel.index && carries_unasked(*z);
    });
    if (others) return;
    for (auto& z : zones_) {
      if (!z->run()) continue;
      const ZoneConfig* zone = config_.zone(z->run()->zone());
      if (zone && zone->common == r.channel.index) z->run()->common_amps(r.time, r.value);
    }
  }

  void supply_volts(const Reading& r) {
    supply_.heard(r.time, r.value, supply_.last() != kNever && link_back_ > supply_.last());
    if (stale_supply_) tell_supply(IdleKind::heard_again, r.time);
    watch_dead_supply(r);
    site_.supply_volts = r.value;
    site_.supply_time = r.time;
    if (on_ == 0) site_.supply_volts_idle = r.value;
    for (auto& z : zones_)
      if (z->run() && settled_at(*z, r.time)) z->run()->supply_volts(r.value);
  }

  void watch_dead_supply(const Reading& r) {
    if (r.value >= kDeadSupplyVolts) {
      if (told_dead_supply_) tell_supply_lost(IdleKind::supply_back, r);
      dead_supply_since_ = kNever;
      return;
    }
    if (dead_supply_since_ == kNever) dead_supply_since_ = r.time;
    if (!told_dead_supply_ && seconds_between(dead_supply_since_, r.time) > kDeadSupplySeconds)
      tell_supply_lost(IdleKind::supply_lost, r);
  }

  void tell_supply_lost(IdleKind kind, const Reading& r) {
    told_dead_supply_ = kind == IdleKind::supply_lost;
    listener_.on_idle({kind, r.channel, dead_supply_since_, r.time, r.value, kNotMeasured});
  }

  void tell_supply(IdleKind kind, UtcTime now) {
    stale_supply_ = kind == IdleKind::stale;
    listener_.on_idle(
        {kind, {ChannelKind::supply_voltage, 0}, supply_.last(), now, kNotMeasured, supply_.usual_gap_s()});
  }

  // A run's own readings together with what is known of the site around it.
  Run complete(int zone, UtcTime end, RunEnd ended) const {
    const ZoneTrack& z = *track(zone);
    // Without a command, another zone is known to be on by its readings only.
    const auto on_until = [&](int other) {
      const ZoneTrack& o = *track(other);
      return o.has_command() ? end : o.run() ? o.run()->latest() : end;
    };
    Run run = z.run()->summary(end, ended, on_until);
    run.has_command = z.has_command();
    run.idle_amps = z.watch().zero_amps();
    if (!measured(run.supply_volts) && site_.supply_time != kNever &&
        seconds_between(site_.supply_time, end) < kSupplyFreshSeconds)
      run.supply_volts = site_.supply_volts;
    run.supply_volts_idle = site_.supply_volts_idle;
    if (soil_time_ != kNever && seconds_between(soil_time_, end) < kTemperatureFreshSeconds)
      run.soil_celsius = site_.soil_celsius;
    if (air_time_ != kNever && seconds_between(air_time_, end) < kTemperatureFreshSeconds)
      run.air_celsius = site_.air_celsius;
    return run;
  }

  const Config& config_;
  RunListener& listener_;
  UnseenReturns unseen_returns_;
  std::vector<std::unique_ptr<ZoneTrack>> zones_;
  std::vector<int> numbers_;
  std::array<ZoneTrack*, kMaxZone + 1> by_number_{};
  SiteContext site_;
  UtcTime soil_time_ = kNever, air_time_ = kNever, next_advance_ = kNever;
  UtcTime link_back_ = kNever;
  UtcTime first_heard_ = kNever;
  UtcTime heard_ = kNever;  // latest reading of any channel
  double usual_gap_s_ = 0;  // between any two
  int quiet_looks_ = 0;
  bool told_link_ = false;
  IdleWatch supply_;
  bool stale_supply_ = false;
  UtcTime dead_supply_since_ = kNever;
  bool told_dead_supply_ = false;
  int on_ = 0;
};

Silence RunTracker::silence() const { return impl_->silence(); }

RunTracker::RunTracker(const Config& config, RunListener& listener)
    : impl_(std::make_unique<Impl>(config, listener)) {}
RunTracker::~RunTracker() = default;
void RunTracker::reading(const Reading& reading) { impl_->reading(reading); }
void RunTracker::advance(UtcTime now) { impl_->advance(now); }
const SiteContext& RunTracker::context() const { return impl_->context(); }
bool RunTracker::any_on() const { return impl_->any_on(); }
Json RunTracker::save() const { return impl_->save(); }
void RunTracker::restore(const Json& saved) { impl_->restore(saved); }

bool RunTracker::is_on(int zone) const { return impl_->track(zone) && impl_->track(zone)->is_on(); }
bool RunTracker::has_command(int zone) const {
  return impl_->track(zone) && impl_->track(zone)->has_command();
}
bool RunTracker::tells_switching(int zone) const {
  return impl_->track(zone) && impl_->track(zone)->tells_switching(context().now);
}
bool RunTracker::has_current(int zone) const {
  return impl_->track(zone) && impl_->track(zone)->has_current();
}
double RunTracker::latest_amps(int zone) const {
  return impl_->track(zone) ? impl_->track(zone)->watch().latest_amps() : kNotMeasured;
}
UtcTime RunTracker::latest_time(int zone) const {
  return impl_->track(zone) ? impl_->track(zone)->watch().last() : kNever;
}
UtcTime RunTracker::heard_again() const { return impl_->link_back(); }
double RunTracker::returned_unseen(int zone, UtcTime from, UtcTime to) const {
  return impl_->returned_unseen(zone, from, to);
}
double RunTracker::idle_amps(int zone) const {
  return impl_->track(zone) ? impl_->track(zone)->watch().zero_amps() : kNotMeasured;
}

}  // namespace coilward
