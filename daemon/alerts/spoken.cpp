// Whom the words are for decides who makes them.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "daemon/alerts/alert_book.h"
#include "daemon/alerts/audience_words.h"
#include "daemon/alerts/site_time.h"

namespace coilward {

std::vector<Telling> tellings_of(const Alert& alert) {
  std::vector<Telling> tellings;
  for (std::size_t i = 0; i < alert.findings.size(); ++i) {
    const AlertDetail detail = i < alert.details.size() ? alert.details[i] : AlertDetail{};
    tellings.push_back({alert.findings[i], detail.worse, detail.times, detail.comes_and_goes});
  }
  return tellings;
}

int in_hundred(double probability) {
  return static_cast<int>(std::lround(std::min(0.99, std::max(0.01, probability)) * 100));
}

Spoken spoken(const Alert& alert, const Listener& listener, const Config& config) {
  if (alert.trouble) return trouble_words(alert, listener, config);
  const auto tellings = tellings_of(alert);
  if (tellings.empty()) return {alert.subject, alert.text};
  switch (listener.audience) {
    case Audience::homeowner:
      return homeowner_words(tellings, alert, listener, config);
    case Audience::contractor:
      return contractor_words(tellings, alert, listener, config);
    case Audience::technician:
      break;
  }
  return technician_words(tellings, alert, listener, config);
}

void word(Alert& alert, const std::vector<Telling>& tellings, const Config& config) {
  const Spoken said = technician_words(tellings, alert, {}, config);
  alert.subject = said.subject;
  alert.text = said.text;
}

Alert test_alert(const Config& config, UtcTime now, Language language) {
  const Words& words = Words::in(language);
  Alert alert;
  alert.id = fmt::format("{}.test.{}", config.site.id, to_ms(now));
  alert.kind = AlertKind::test;
  alert.site = config.site.id;
  alert.site_name = config.site.name;
  alert.raised = now;
  alert.subject = one_line(words.say("test.subject", {{"site", config.site.name}}), kLongestSubject);
  alert.text = words.say("test.text", {{"time", site_date_time(now, config.site.timezone, words)}}) + "\n";
  return alert;
}

}  // namespace coilward
