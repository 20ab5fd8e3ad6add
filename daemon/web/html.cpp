#include "daemon/web/html.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "daemon/alerts/site_time.h"
#include "daemon/circuit/wire.h"
#include "daemon/web/query.h"

namespace coilward {

std::string html(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '&')
      out += "&amp;";
    else if (c == '<')
      out += "&lt;";
    else if (c == '>')
      out += "&gt;";
    else if (c == '"')
      out += "&quot;";
    else if (c == '\'')
      out += "&#39;";
    else
      out.push_back(static_cast<unsigned char>(c) < 0x20 ? ' ' : c);
  }
  return out;
}

std::string html_lines(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    out += html(text.substr(0, end)) + "\n";
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return out;
}

// To the milliampere, as fine as sensors are; without a sign on nothing.
std::string amps_text(double amps) {
  return measured(amps) ? fmt::format("{:.3f} A", std::abs(amps) < 0.0005 ? 0.0 : amps) : "–";
}

std::string band_text(const NormalDraw& normal) {
  if (!measured(normal.hold_low)) return "not learned yet";
  return fmt::format("{:.3f} to {:.3f} A{}", normal.hold_low, normal.hold_high,
                     normal.provisional ? ", still learning" : "");
}

std::string length_text(double metres, const Config& config) {
  if (config.site.feet) return fmt::format("{:.0f} ft", circuit::feet_from_metres(metres));
  return fmt::format("{:.3g} m", metres < 100 ? metres : std::round(metres));
}

std::string span_text(Millis span) {
  const auto s = (span.count() + 500) / 1000;
  if (s < 120) return fmt::format("{} s", s);
  if (s < 7200) return s % 60 ? fmt::format("{} min {} s", s / 60, s % 60) : fmt::format("{} min", s / 60);
  return fmt::format("{} h {} min", s / 3600, s / 60 % 60);
}

int in_hundred_text(double probability) {
  return static_cast<int>(std::lround(std::clamp(probability, 0.01, 0.99) * 100));
}

std::string zone_label(int zone) { return zone == kMasterZone ? "M" : std::to_string(zone); }

std::string zone_heading(int zone, const std::string& name) {
  return name == fmt::format("Zone {}", zone) ? name : fmt::format("{} {}", zone_label(zone), name);
}

std::string short_text(std::string_view text, std::size_t most) {
  std::size_t characters = 0, end = 0, cut = 0;
  for (; end < text.size(); ++end) {
    if ((static_cast<unsigned char>(text[end]) & 0xc0) == 0x80) continue;
    if (characters + 1 == most) cut = end;
    if (++characters > most) return std::string(text.substr(0, cut)) + "…";
  }
  return std::string(text);
}

std::string icon(std::string_view name) {
  return fmt::format(R"(<svg class="icon" aria-hidden="true" focusable="false"><use href="#i-{}"/></svg>)",
                     name);
}

std::string time_tag(UtcTime time, const Config& config) {
  if (time == kNever) return "never";
  return fmt::format("<time datetime=\"{}\">{}</time>", format_rfc3339(time),
                     html(site_date_time(time, config.site.timezone)));
}

std::string short_time_tag(UtcTime time, UtcTime now, const Config& config) {
  if (time == kNever) return "never";
  std::string text = site_date_time(time, config.site.timezone),
              present = site_date_time(now, config.site.timezone);
  const auto year_of = [](const std::string& t) { return t.find(' ', t.find(' ', 4) + 1); };  // " 2026 ..."
  const std::size_t at = year_of(text);
  if (at != std::string::npos && text.substr(at, 5) == present.substr(year_of(present), 5)) text.erase(at, 5);
  return fmt::format("<time datetime=\"{}\">{}</time>", format_rfc3339(time), html(text.substr(4)));
}

std::string finding_path(const Finding& finding) { return "/finding/" + percent_encoded(finding.id); }
std::string zone_path(int zone) { return fmt::format("/zone/{}", zone); }

}  // namespace coilward
