#include "daemon/fleet/uplink/site_parcels.h"

#include <fmt/format.h>

#include <cmath>
#include <map>
#include <nlohmann/json.hpp>

#include "daemon/history/edges.h"

namespace coilward {
namespace {

// Of a body before it is compressed, so that it fits a message however badly that goes.
constexpr std::size_t kMostBody = 48 * 1024;
constexpr std::size_t kMostChanges = 500, kMostRuns = 500;
constexpr std::size_t kBucketBytes = 45;  // of a roll-up in the body, about
constexpr Millis kSettle = std::chrono::minutes{1};

std::int64_t number(const UplinkMarks& marks, const char* name) {
  const auto it = marks.find(name);
  return it == marks.end() || it->second.empty() ? 0 : std::atoll(it->second.c_str());
}

std::string text(const UplinkMarks& marks, const char* name) {
  const auto it = marks.find(name);
  return it == marks.end() ? std::string() : it->second;
}

std::string identity_text(const std::optional<FileIdentity>& file) {
  return file ? fmt::format("{}:{}", file->device, file->inode) : std::string();
}

std::string dumped(const Json& json) { return json.dump(-1, ' ', false, Json::error_handler_t::replace); }

Json milliamps(double amps) { return measured(amps) ? Json(std::lround(amps * 1000)) : Json(nullptr); }
// Thousandths are finer than any sensor here, and the same digits again and again compress well.
Json rounded(double value) { return measured(value) ? Json(std::round(value * 1000) / 1000) : Json(nullptr); }

bool is_command(Channel channel) {
  return channel.kind == ChannelKind::zone_command || channel.kind == ChannelKind::master_command;
}

std::string hash_of(const std::string& body) { return fmt::format("{:x}", std::hash<std::string>{}(body)); }

}  // namespace

SiteParcels::SiteParcels(const Config& config, std::string history_file, std::string state_file,
                         std::string version)
    : config_(config),
      names_(config),
      history_file_(std::move(history_file)),
      state_file_(std::move(state_file)),
      version_(std::move(version)),
      every_(static_cast<std::int64_t>(config.fleet.every_minutes * 60'000)) {}

SiteParcels::Next SiteParcels::next(UplinkKind kind, const UplinkMarks& marks, UtcTime now) {
  switch (kind) {
    case UplinkKind::finding:
      return finding(marks, now);
    case UplinkKind::site:
      return site(marks, now);
    case UplinkKind::health:
      return health(marks, now);
    case UplinkKind::runs:
      return runs(marks, now);
    case UplinkKind::history:
      return history(marks, now);
    case UplinkKind::lost:
      break;
  }
  return std::optional<Parcel>();
}

void SiteParcels::set_troubles(const Json& troubles) {
  std::lock_guard lock(mutex_);
  troubles_ = dumped({{"troubles", troubles}});
}

Result<bool> SiteParcels::open_state() {
  const auto file = file_identity(state_file_);
  if (state_ && file == state_identity_) return true;
  state_.reset();
  auto state = StateStore::open(state_file_, config_.site.id, {OpenMode::read_only});
  if (!state) return state.error();
  state_.emplace(std::move(*state));
  state_identity_ = file;
  return true;
}

Result<bool> SiteParcels::open_history() {
  const auto file = file_identity(history_file_);
  if (history_ && file == history_identity_) return true;
  history_.reset();
  auto history = HistoryReader::open(history_file_, names_);
  if (!history) return history.error();
  history_.emplace(std::move(*history));
  history_identity_ = file;
  return true;
}

bool SiteParcels::due(const UplinkMarks& marks, const char* name, Millis every, UtcTime now) const {
  const UtcTime last = from_ms(number(marks, name));
  return last > now || now - last >= every;  // later than now: the clock was set back
}

SiteParcels::Next SiteParcels::finding(const UplinkMarks& marks, UtcTime now) {
  if (auto opened = open_state(); !opened) return opened.error();
  const std::string file = identity_text(state_identity_);
  const bool same = text(marks, "finding_file") == file;
  const auto changes = state_->changes_after(same ? number(marks, "finding") : 0, kMostChanges);
  if (!changes) return changes.error();
  Parcel parcel{UplinkKind::finding, {}, {}};
  if (!same) parcel.marks["finding_file"] = file;
  std::map<std::string, std::string> latest;
  std::size_t bytes = 0;
  for (const auto& [place, found] : *changes) {
    const bool old = !found.is_open() && found.closed < now - kGoBack;
    Json json = finding_to_json(found, config_.site.id);
    json.erase("site");
    std::string body = old ? std::string() : dumped(json);
    if (!latest.empty() && bytes + body.size() > kMostBody) break;
    bytes += body.size();
    parcel.marks["finding"] = std::to_string(place);
    latest[found.id] = std::move(body);
  }
  if (parcel.marks.empty()) return std::optional<Parcel>();
  for (const auto& [id, body] : latest)
    if (!body.empty()) parcel.json += (parcel.json.empty() ? "" : ",") + body;
  if (!parcel.json.empty()) parcel.json = "{\"findings\":[" + parcel.json + "]}";
  return std::optional(std::move(parcel));
}

SiteParcels::Next SiteParcels::site(const UplinkMarks& marks, UtcTime now) {
  if (auto opened = open_state(); !opened) return opened.error();
  const auto draws = state_->normal_draws();
  if (!draws) return draws.error();
  std::map<int, NormalDraw> normal;
  for (const auto& draw : *draws) normal[draw.zone] = draw;
  Json body{{"name", config_.site.name}, {"timezone", config_.site.timezone}, {"version", version_}};
  std::string names = dumped(body);
  body["zones"] = Json::array();
  for (const auto& zone : config_.zones) {
    const NormalDraw& draw = normal[zone.number];
    names += fmt::format("{} {}\n", zone.number, zone.name);
    body["zones"].push_back({{"zone", zone.number},
                             {"name", zone.name},
                             {"normal_amps", rounded(draw.hold_amps)},
                             {"low_amps", rounded(draw.hold_low)},
                             {"high_amps", rounded(draw.hold_high)}});
  }
  const std::string json = dumped(body), named = hash_of(names), all = hash_of(json);
  const bool other_names = text(marks, "site_names") != named;
  const bool other_draws = text(marks, "site") != all && due(marks, "site_at", kDescribeEvery, now);
  if (!other_names && !other_draws) return std::optional<Parcel>();
  return std::optional(
      Parcel{UplinkKind::site,
             json,
             {{"site_names", named}, {"site", all}, {"site_at", std::to_string(to_ms(now))}}});
}

SiteParcels::Next SiteParcels::health(const UplinkMarks& marks, UtcTime now) {
  std::lock_guard lock(mutex_);
  const std::string hash = hash_of(troubles_);
  const Millis every = text(marks, "health") == hash ? kSignOfLifeEvery : kHealthEvery;
  if (troubles_.empty() || !due(marks, "health_at", every, now)) return std::optional<Parcel>();
  return std::optional(
      Parcel{UplinkKind::health, troubles_, {{"health", hash}, {"health_at", std::to_string(to_ms(now))}}});
}

SiteParcels::Next SiteParcels::runs(const UplinkMarks& marks, UtcTime now) {
  if (!due(marks, "runs_at", every_, now)) return std::optional<Parcel>();
  if (auto opened = open_history(); !opened) return opened.error();
  const std::string file = identity_text(history_identity_);
  const bool same = text(marks, "run_file") == file;
  const auto kept = history_->runs_after(same ? number(marks, "run") : 0, now - kGoBack, kMostRuns);
  if (!kept) return kept.error();
  if (kept->empty()) return std::optional<Parcel>();
  Parcel parcel{UplinkKind::runs, {}, {{"run", std::to_string(kept->back().place)}}};
  if (!same) parcel.marks["run_file"] = file;
  if (kept->size() < kMostRuns) parcel.marks["runs_at"] = std::to_string(to_ms(now));
  Json zone = Json::array(), start = zone, seconds = zone, hold = zone, inrush = zone, ended = zone;
  for (const auto& [place, run] : *kept) {
    zone.push_back(run.zone);
    start.push_back(to_ms(run.start) / 1000);
    seconds.push_back(std::llround(seconds_between(run.start, run.end)));
    hold.push_back(milliamps(run.hold_amps));
    inrush.push_back(milliamps(run.inrush_amps));
    ended.push_back(std::string(run_end_name(run.ended)));
  }
  parcel.json = dumped({{"zone", zone},
                        {"start", start},
                        {"seconds", seconds},
                        {"hold_ma", hold},
                        {"inrush_ma", inrush},
                        {"ended", ended}});
  return std::optional(std::move(parcel));
}

// Whole hours that are over and committed, of every channel, as many as fit.
SiteParcels::Next SiteParcels::history(const UplinkMarks& marks, UtcTime now) {
  if (!due(marks, "history_at", every_, now)) return std::optional<Parcel>();
  if (auto opened = open_history(); !opened) return opened.error();
  const auto channels = history_->channels();
  if (!channels) return channels.error();
  const Millis settle = kSettle + Millis{static_cast<std::int64_t>(config_.history.commit_s * 1000)};
  const std::int64_t over = hour_of(now - settle);
  const std::int64_t from = std::clamp(number(marks, "hour"), hour_of(now - kGoBack), over);
  const auto fit =
      static_cast<std::int64_t>(kMostBody / kBucketBytes / std::max<std::size_t>(1, channels->size()));
  const std::int64_t until = std::min(over, from + std::max<std::int64_t>(1, fit));
  if (until <= from) return std::optional<Parcel>();
  Parcel parcel{UplinkKind::history, {}, {{"hour", std::to_string(until)}}};
  if (until == over) parcel.marks["history_at"] = std::to_string(to_ms(now));
  Json hours = Json::object();
  for (const Channel channel : *channels) {
    if (is_command(channel)) continue;
    auto of_channel = hours_of(channel, from, until);
    if (!of_channel) return of_channel.error();
    if (!of_channel->at("hour").empty()) hours[names_.text(channel)] = std::move(*of_channel);
  }
  if (!hours.empty()) parcel.json = dumped({{"hours", hours}});
  return std::optional(std::move(parcel));
}

Result<Json> SiteParcels::hours_of(Channel channel, std::int64_t from, std::int64_t until) {
  const auto edges = even_edges(hour_start(from), hour_start(until), 3600);
  if (!edges) return edges.error();
  const auto buckets = history_->buckets(channel, *edges);
  if (!buckets) return buckets.error();
  Json hour = Json::array(), count = hour, lowest = hour, mean = hour, highest = hour;
  for (const Bucket& bucket : *buckets) {
    if (bucket.values.count == 0) continue;
    hour.push_back(hour_of(bucket.start));
    count.push_back(bucket.values.count);
    lowest.push_back(rounded(bucket.values.lowest));
    mean.push_back(rounded(bucket.values.mean()));
    highest.push_back(rounded(bucket.values.highest));
  }
  Json json{{"hour", hour}, {"count", count}, {"lowest", lowest}, {"mean", mean}, {"highest", highest}};
  return Result<Json>(boost::system::in_place_value, std::move(json));
}

}  // namespace coilward
