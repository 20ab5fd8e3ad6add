#include "daemon/alerts/wording.h"

#include <fmt/format.h>

#include <cmath>
#include <string_view>

#include "daemon/alerts/alert_book.h"
#include "daemon/alerts/fault_words.h"
#include "daemon/alerts/site_time.h"

namespace coilward {
namespace {

constexpr std::size_t kMostDetailed = 3;  // findings with all their details; the others in one line
constexpr double kWorthNaming = 0.05;     // alternatives and places below this are left out

int in_hundred(double probability) {
  return static_cast<int>(std::lround(std::min(0.99, std::max(0.01, probability)) * 100));
}

std::string_view opening_word(const Telling& telling, AlertKind kind) {
  if (kind == AlertKind::worse) return telling.worse ? "Worse: " : "Now known better: ";
  if (telling.comes_and_goes) return "Comes and goes: ";
  return kind == AlertKind::repeat ? "Still: " : "";
}

std::string ending(const Finding& f, const Config& config) {
  const bool about_site = f.fault == Fault::supply_low || f.fault == Fault::supply_lost || f.zones.empty();
  const auto subject = about_site ? std::string("The site") : zones_in_words(f.zones, config);
  return withdrawn(f) ? fmt::format("Taken back: {}: the {} was not one.", subject, fault_phrase(f.fault))
                      : fmt::format("Over: {}: the {} has ended.", subject, fault_phrase(f.fault));
}

std::string first_line(const Telling& telling, AlertKind kind, const Config& config) {
  if (kind == AlertKind::closed) return ending(telling.finding, config);
  return std::string(opening_word(telling, kind)) + headline(telling.finding, config);
}

std::string place_name(const std::string& place) {
  return place == "controller" ? "the controller" : fmt::format("box {}", one_line(place, 60));
}

std::string where_line(const Finding& f) {
  if (f.where.empty()) return {};
  std::string text = "Where: ";
  const char* joint = "";
  for (const auto& w : f.where) {
    if (w.probability < kWorthNaming && &w != &f.where.front()) break;
    text += fmt::format("{}between {} and {} ({} %)", joint, place_name(w.from), place_name(w.to),
                        in_hundred(w.probability));
    joint = "; ";
  }
  return text + ".\n";
}

// As a clamp meter shows it: currents to the milliampere, which is as fine as sensors are.
std::string amount(double value, const std::string& unit) {
  return unit == "A" ? fmt::format("{:.3f}", std::abs(value) < 0.0005 ? 0.0 : value)
                     : fmt::format("{:.3g}", value);
}

std::string measured_line(const Finding& f) {
  for (const auto& e : f.evidence)
    if (measured(e.observed) && measured(e.low) && measured(e.high))
      return fmt::format("Measured: {} {} on {}. Normal is {} to {} {}.\n", amount(e.observed, e.unit),
                         e.unit, e.channel, amount(e.low, e.unit), amount(e.high, e.unit), e.unit);
  return {};
}

std::string other_causes_line(const Finding& f) {
  std::string names;
  for (const auto& other : f.alternatives)
    if (other.probability >= kWorthNaming)
      names += fmt::format("{}{} ({} %)", names.empty() ? "" : "; ", fault_phrase(other.fault),
                           in_hundred(other.probability));
  return names.empty() ? names : fmt::format("It could also be: {}.\n", names);
}

std::string time_line(const Telling& telling, const Config& config) {
  const auto& f = telling.finding;
  std::string text = fmt::format("Since: {}. ", site_date_time(f.opened, config.site.timezone));
  if (telling.comes_and_goes) text += fmt::format("It has come {} times. ", telling.times);
  return text + fmt::format("How sure: {} in 100.\n", in_hundred(f.probability));
}

std::string open_details(const Telling& telling, const Config& config) {
  const auto& f = telling.finding;
  std::string text = time_line(telling, config) + where_line(f) + measured_line(f) + other_causes_line(f);
  if (!f.summary.empty()) text += fmt::format("{}\n", one_line(f.summary, 600));
  text += fmt::format("\nNext test: {}\n", next_reading(f, config));
  if (const auto care = cautions(f.fault); !care.empty()) text += fmt::format("Take care: {}\n", care);
  if (telling.comes_and_goes)
    text += "\nThis is said once. You hear again when it gets worse, or when it stays one way for a day.\n";
  return text + fmt::format("\nStop the repeats: coilward acknowledge {}\n", f.id);
}

std::string closed_details(const Finding& f, const Config& config) {
  std::string text =
      fmt::format("It began {} and ended {}.\n", site_date_time(f.opened, config.site.timezone),
                  site_date_time(f.closed, config.site.timezone));
  if (!f.close_reason.empty() && !withdrawn(f)) text += fmt::format("Why: {}.\n", one_line(f.close_reason));
  return text;
}

std::string section(const Telling& telling, AlertKind kind, bool detailed, const Config& config) {
  std::string text = first_line(telling, kind, config) + "\n";
  if (!detailed) return text;
  return text + (kind == AlertKind::closed ? closed_details(telling.finding, config)
                                           : open_details(telling, config));
}

std::string subject_of(const std::vector<Telling>& tellings, AlertKind kind, const Config& config) {
  std::string text = first_line(tellings.front(), kind, config);
  if (text.ends_with('.')) text.pop_back();
  if (tellings.size() > 1) text += fmt::format(" (and {} more)", tellings.size() - 1);
  return one_line(fmt::format("[{}] {}", config.site.name, text), 250);
}

}  // namespace

void word(Alert& alert, const std::vector<Telling>& tellings, const Config& config) {
  alert.subject = subject_of(tellings, alert.kind, config);
  alert.text.clear();
  for (std::size_t i = 0; i < tellings.size(); ++i) {
    if (i > 0) alert.text += i < kMostDetailed ? "\n----\n\n" : "\n";
    alert.text += section(tellings[i], alert.kind, i < kMostDetailed, config);
  }
  if (tellings.size() > kMostDetailed) alert.text += "\nAll details: coilward findings\n";
}

Alert test_alert(const Config& config, UtcTime now) {
  Alert alert;
  alert.id = fmt::format("{}.test.{}", config.site.id, to_ms(now));
  alert.kind = AlertKind::test;
  alert.site = config.site.id;
  alert.site_name = config.site.name;
  alert.raised = now;
  alert.subject = one_line(fmt::format("[{}] TEST: this is only a test", config.site.name), 250);
  alert.text = fmt::format(
      "TEST. Nothing is wrong.\nSomeone asked coilward to try this way of telling you, {}.\nIf you can read "
      "this, it works.\n",
      site_date_time(now, config.site.timezone));
  return alert;
}

}  // namespace coilward
