#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/alerts/routes.h"
#include "daemon/alerts/sparkline.h"

namespace coilward {
namespace {

PersonConfig at_the_end_of(const PluginUse& notifier) {
  PersonConfig person;
  person.name = notifier.name;
  person.by = {notifier.name};
  return person;
}

Json sparkline_json(const AlertDraw& draw, const std::string& title) {
  return {{"zone", draw.zone}, {"text", sparkline_text(draw)}, {"svg", sparkline_svg(draw, title)}};
}

}  // namespace

std::vector<PersonConfig> everyone(const Config& config) {
  std::vector<PersonConfig> people = config.people;
  for (const auto& notifier : config.notifiers) {
    const auto named = [&](const PersonConfig& p) {
      return std::find(p.by.begin(), p.by.end(), notifier.name) != p.by.end();
    };
    if (std::none_of(config.people.begin(), config.people.end(), named))
      people.push_back(at_the_end_of(notifier));
  }
  return people;
}

std::vector<std::string> stand_ins(const Config& config, const std::string& notifier) {
  for (const auto& person : config.people)
    if (const auto at = std::find(person.by.begin(), person.by.end(), notifier); at != person.by.end())
      return {at + 1, person.by.end()};
  return {};
}

Json message_json(const Alert& alert, const Spoken& said, const PersonConfig& person, UtcTime due) {
  Json json = alert_to_json(alert);
  json["subject"] = said.subject;
  json["text"] = said.text;
  json["person"] = person.name;
  json["audience"] = audience_name(person.audience);
  json["language"] = language_name(person.language);
  json["due"] = time_or_null(due);
  json["sparkline"] = Json();
  if (!alert.draws.empty() && person.audience == Audience::technician)
    json["sparkline"] = sparkline_json(alert.draws.front(), said.subject);
  return json;
}

}  // namespace coilward
