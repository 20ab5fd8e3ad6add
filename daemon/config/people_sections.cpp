// [[person]]: who is told what, when and how.
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <set>

#include "daemon/config/sections.h"

namespace coilward {
namespace {

// "07:00" to minutes, up to 24:00; -1: not such a text.
int minute_of(std::string_view text) {
  if (text.size() != 5 || text[2] != ':') return -1;
  for (std::size_t i : {0, 1, 3, 4})
    if (!std::isdigit(static_cast<unsigned char>(text[i]))) return -1;
  const int hour = (text[0] - '0') * 10 + text[1] - '0', minute = (text[3] - '0') * 10 + text[4] - '0';
  return minute < 60 && hour * 60 + minute <= 24 * 60 ? hour * 60 + minute : -1;
}

std::optional<QuietHours> quiet_hours(const TableReader& in) {
  const std::string text = in.text("quiet");
  if (text.empty()) return std::nullopt;
  const auto dash = text.find('-');
  const QuietHours hours = dash == std::string::npos
                               ? QuietHours{-1, -1}
                               : QuietHours{minute_of(std::string_view(text).substr(0, dash)),
                                            minute_of(std::string_view(text).substr(dash + 1))};
  if (hours.start >= 0 && hours.end >= 0) return hours;
  in.complain("quiet", fmt::format("found \"{}\"; allowed is HH:MM-HH:MM by the site's clock, such as "
                                   "22:00-07:00 or 20:00-24:00",
                                   text));
  return std::nullopt;
}

// One of a list of names; complains with the nearest.
template <class Value, class From>
Value one_of(const TableReader& in, const char* key, const std::string& text, std::vector<std::string> known,
             Value otherwise, From from) {
  if (const auto value = from(text)) return *value;
  in.complain(key, fmt::format("found \"{}\"; {}", text, suggestion(text, known)));
  return otherwise;
}

std::vector<std::string> fault_names() {
  std::vector<std::string> names;
  for (int i = 0; i < kFaults; ++i) names.emplace_back(fault_name(static_cast<Fault>(i)));
  return names;
}

void read_ways(const TableReader& in, PersonConfig& person, const Config& config,
               std::set<std::string>& taken) {
  person.by = in.texts("by");
  std::vector<std::string> known;
  for (const auto& notifier : config.notifiers) known.push_back(notifier.name);
  if (person.by.empty() && in.has("by"))
    in.complain("by", "found nothing; allowed are names of [[notifier]]");
  for (const auto& name : person.by) {
    if (std::find(known.begin(), known.end(), name) == known.end())
      in.complain("by", known.empty() ? fmt::format("found \"{}\"; there is no [[notifier]]", name)
                                      : fmt::format("found \"{}\"; {}", name, suggestion(name, known)));
    else if (!taken.insert(name).second)
      in.complain("by", fmt::format("found \"{}\" twice; a notifier leads to one person", name));
  }
}

void read_filters(const TableReader& in, PersonConfig& person, const Config& config) {
  person.at_least = one_of(in, "at_least", in.text("at_least", "watch"), {"watch", "soon", "urgent"},
                           Severity::watch, severity_from_name);
  for (const auto& name : in.texts("faults"))
    person.faults.push_back(one_of(in, "faults", name, fault_names(), Fault::open_circuit, fault_from_name));
  for (const double number : in.numbers("zones", {})) {
    const int zone = static_cast<int>(number);
    if (zone != number || !config.zone(zone))
      in.complain("zones", fmt::format("found {}; the site has no such zone", number));
    person.zones.push_back(zone);
  }
}

}  // namespace

void read_people(const toml::table& root, Config& config, Complaints& complaints) {
  std::set<std::string> names, taken;
  for (const auto& notifier : config.notifiers) names.insert(notifier.name);
  each(root, "person", complaints, [&](const TableReader& in) {
    PersonConfig person;
    person.name = in.text("name");
    if (in.has("name") && !names.insert(person.name).second)
      in.complain("name", fmt::format("found \"{}\" twice; each person and notifier has a name of its own",
                                      person.name));
    person.audience =
        one_of(in, "audience", in.text("audience", "technician"), {"homeowner", "technician", "contractor"},
               Audience::technician, audience_from_name);
    person.language = one_of(in, "language", in.text("language", "en"), {"en", "es"}, Language::english,
                             language_from_name);
    person.quiet = quiet_hours(in);
    person.after_h = in.number("after_h", 0);
    read_ways(in, person, config, taken);
    read_filters(in, person, config);
    config.people.push_back(std::move(person));
  });
}

}  // namespace coilward
