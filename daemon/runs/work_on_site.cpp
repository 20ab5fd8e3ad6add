#include "daemon/runs/work_on_site.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <optional>

namespace coilward {
namespace {

// No run lasts longer.
constexpr Millis kForgottenAfter = std::chrono::hours{7 * 24};

// Of an output's current; the link and the supply are everybody's.
int output_of(const IdleEvent& event) {
  if (event.kind == IdleKind::link_silent || event.kind == IdleKind::link_back)
    return WorkOnSite::kEverything;
  if (event.channel.kind == ChannelKind::master_current) return kMasterZone;
  return event.channel.kind == ChannelKind::zone_current ? event.channel.index : WorkOnSite::kEverything;
}

// What an event ends; nullopt: it begins something.
std::optional<std::vector<IdleKind>> ended_by(IdleKind kind) {
  switch (kind) {
    case IdleKind::uncommanded_over:
      return std::vector{IdleKind::uncommanded};
    case IdleKind::heard_again:
      return std::vector{IdleKind::stale, IdleKind::never_heard, IdleKind::frozen};
    case IdleKind::link_back:
      return std::vector{IdleKind::link_silent};
    case IdleKind::supply_back:
      return std::vector{IdleKind::supply_lost};
    default:
      return std::nullopt;
  }
}

Json event_to_json(const IdleEvent& e) {
  return {{"kind", static_cast<int>(e.kind)},
          {"channel", static_cast<int>(e.channel.kind)},
          {"index", e.channel.index},
          {"since", to_ms(e.since)},
          {"now", to_ms(e.now)},
          {"value", number_or_null(e.value)},
          {"expected", number_or_null(e.expected)}};
}

IdleEvent event_from_json(const Json& j) {
  const auto number = [&](const char* key) {
    return j.at(key).is_null() ? kNotMeasured : j.at(key).get<double>();
  };
  return {static_cast<IdleKind>(j.at("kind").get<int>()),
          {static_cast<ChannelKind>(j.at("channel").get<int>()), j.at("index").get<std::uint8_t>()},
          from_ms(j.at("since")),
          from_ms(j.at("now")),
          number("value"),
          number("expected")};
}

}  // namespace

void WorkOnSite::announce(int zone, UtcTime from, UtcTime until) {
  std::erase_if(stretches_, [&](const Stretch& s) { return from - s.until > kForgottenAfter; });
  for (Stretch& stretch : stretches_)
    if (stretch.zone == zone && stretch.from <= from && from < stretch.until) {
      stretch.until = std::max(from, until);
      return;
    }
  if (until > from) stretches_.push_back({zone, from, until});
}

void WorkOnSite::mended(int zone, UtcTime when) { mended_[zone] = when; }

UtcTime WorkOnSite::end_of(const Stretch& stretch, int zone) const {
  const auto mended = mended_.find(zone);
  const bool meanwhile = mended != mended_.end() && mended->second >= stretch.from;
  return meanwhile ? std::min(stretch.until, mended->second) : stretch.until;
}

bool WorkOnSite::covers(int zone, UtcTime from, UtcTime to) const {
  return std::any_of(stretches_.begin(), stretches_.end(), [&](const Stretch& s) {
    return (s.zone == kEverything || s.zone == zone) && from < end_of(s, zone) && to >= s.from;
  });
}

bool WorkOnSite::put_by(const IdleEvent& event) {
  if (const auto ends = ended_by(event.kind)) {
    std::erase_if(put_by_, [&](const IdleEvent& e) {
      return e.channel == event.channel && std::find(ends->begin(), ends->end(), e.kind) != ends->end();
    });
    return false;
  }
  if (!covers(output_of(event), event.now)) return false;
  std::erase_if(put_by_,
                [&](const IdleEvent& e) { return e.channel == event.channel && e.kind == event.kind; });
  put_by_.push_back(event);
  return true;
}

std::vector<IdleEvent> WorkOnSite::due(UtcTime now) {
  std::vector<IdleEvent> due;
  std::erase_if(put_by_, [&](const IdleEvent& event) {
    if (covers(output_of(event), now)) return false;
    due.push_back(event);
    due.back().now = now;
    return true;
  });
  return due;
}

Json WorkOnSite::save() const {
  Json stretches = Json::array(), mended = Json::array(), put_by = Json::array();
  for (const Stretch& s : stretches_) stretches.push_back({s.zone, to_ms(s.from), to_ms(s.until)});
  for (const auto& [zone, when] : mended_) mended.push_back({zone, to_ms(when)});
  for (const IdleEvent& event : put_by_) put_by.push_back(event_to_json(event));
  return {{"stretches", stretches}, {"mended", mended}, {"put_by", put_by}};
}

void WorkOnSite::restore(const Json& saved) {
  *this = WorkOnSite();
  for (const Json& s : saved.at("stretches"))
    stretches_.push_back({s.at(0).get<int>(), from_ms(s.at(1)), from_ms(s.at(2))});
  for (const Json& one : saved.at("mended")) mended_[one.at(0).get<int>()] = from_ms(one.at(1));
  for (const Json& event : saved.at("put_by")) put_by_.push_back(event_from_json(event));
}

}  // namespace coilward
