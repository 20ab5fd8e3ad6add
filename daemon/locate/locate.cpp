#include "daemon/locate/locate.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// Less likely than this is not listed. Own judgement.
constexpr double kWorthListing = 0.0005;

std::vector<Place> places_from(const std::vector<Suspect>& suspects, const Judgement& judgement) {
  std::vector<Place> places;
  for (std::size_t i = 0; i < suspects.size(); ++i) {
    const auto same =
        std::ranges::find_if(places, [&](const Place& p) { return p.same_spot(suspects[i].place); });
    if (same == places.end())
      places.push_back(suspects[i].place), places.back().probability = judgement.probability[i];
    else
      same->probability += judgement.probability[i];
  }
  std::erase_if(places, [](const Place& p) { return p.probability < kWorthListing; });
  double sum = 0;
  for (const Place& p : places) sum += p.probability;
  for (Place& p : places) p.probability /= sum;
  std::ranges::stable_sort(places,
                           [](const Place& a, const Place& b) { return a.probability > b.probability; });
  return places;
}

double rounded(double value, double parts) { return std::round(value * parts) / parts; }

std::string_view kind_name(PlaceKind kind) {
  switch (kind) {
    case PlaceKind::segment:
      return "segment";
    case PlaceKind::splice:
      return "splice";
    case PlaceKind::coil:
      return "coil";
    case PlaceKind::controller:
      return "controller";
  }
  return "";
}

}  // namespace

Json place_to_json(const Place& place) {
  Json json = {{"kind", kind_name(place.kind)}};
  const bool wire = place.kind == PlaceKind::segment || place.kind == PlaceKind::splice;
  if (wire) json["conductor"] = conductor_name(place.conductor);
  if (place.kind == PlaceKind::segment) {
    json["from"] = place.from;
    json["to"] = place.to;
  }
  if (place.kind == PlaceKind::coil) json["zone"] = place.zone;
  if (!place.at.empty()) json["at"] = place.at;
  json["probability"] = rounded(place.probability, 1e6);
  return json;
}

Json next_to_json(const NextReading& next) {
  Json expect = Json::array();
  for (const ExpectedReading& e : next.expect)
    expect.push_back(
        {{"if", e.before ? "before" : "beyond"}, {"low", rounded(e.low, 10)}, {"high", rounded(e.high, 10)}});
  Json json = {{"reading", reading_kind_name(next.kind)}, {"zone", next.zone}, {"at", next.at}};
  if (next.kind == ReadingKind::ohms) json["toward"] = toward_name(next.toward);
  if (next.kind == ReadingKind::source_volts) json["conductor"] = conductor_name(next.conductor);
  json["minutes"] = next.minutes;
  json["expect"] = std::move(expect);
  json["caution"] = next.caution;
  return json;
}

Location locate_fault(const LocateInput& input) {
  Location out;
  out.finding = input.finding.id;
  out.zone = zone_to_measure(input.config, input.finding);
  out.explained.assign(input.readings.size(), true);
  const WirePath path = wire_path(input.config, out.zone);
  const auto suspects = suspects_of(input.config, input.finding, path, input.neighbours);
  if (suspects.empty()) return out;
  const Ladder ladder = ladder_of(input.config, path, input.hold_amps);
  const double ratio = draw_ratio(input.finding);
  const Judgement judgement = judge_readings(suspects, ladder, path, ratio, input.readings);
  out.places = places_from(suspects, judgement);
  out.explained = judgement.explained;
  out.odd = odd_words(judgement, input.readings);
  const TestChoice choice =
      choose_test(input.config, input.finding, path, ladder, suspects, judgement, input.readings);
  out.minutes = choice.minutes;
  out.exact = choice.exact;
  // Digging is dear: what a cheap reading would still rule out is worth it.
  const double sure = out.places.front().probability;
  out.solved = judgement.together && (sure >= kCertain || (sure >= kFound && !choice.next));
  if (!out.solved) out.next = choice.next;
  return out;
}

Json location_to_json(const Location& location) {
  Json places = Json::array();
  for (const Place& place : location.places) places.push_back(place_to_json(place));
  return {{"finding", location.finding},
          {"zone", location.zone < 0 ? Json(nullptr) : Json(location.zone)},
          {"solved", location.solved},
          {"places", std::move(places)},
          {"next", location.next ? next_to_json(*location.next) : Json(nullptr)}};
}

}  // namespace coilward
