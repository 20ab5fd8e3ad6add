#include <fmt/format.h>

#include "daemon/alerts/wording.h"

namespace coilward {
namespace {

constexpr std::size_t kMostNamed = 4;  // more zones than this are numbers only

std::string name_in_brackets(int zone, const Config& config) {
  const ZoneConfig* known = config.zone(zone);
  if (known == nullptr || known->name.empty() || known->name == fmt::format("Zone {}", zone)) return {};
  return fmt::format(" ({})", one_line(known->name, 60));
}

bool consecutive(const std::vector<int>& zones) {
  for (std::size_t i = 1; i < zones.size(); ++i)
    if (zones[i] != zones[i - 1] + 1) return false;
  return true;
}

}  // namespace

std::string listed(const std::vector<std::string>& items, const Words& language) {
  std::string text = items.empty() ? std::string() : items.front();
  for (std::size_t i = 1; i < items.size(); ++i)
    text += (i + 1 == items.size() ? language.text("list.and") : ", ") + items[i];
  return text;
}

std::string zones_in_words(const std::vector<int>& zones, const Config& config, const Words& words) {
  if (zones.empty()) return words.text("zones.site");
  if (zones.size() == 1 && zones.front() == kMasterZone) return words.text("zones.master");
  const auto number = [](int zone) { return std::to_string(zone); };
  if (zones.size() == 1)
    return words.say("zones.one", {{"number", number(zones.front())}}) +
           name_in_brackets(zones.front(), config);
  if (zones.size() > kMostNamed && zones.front() != kMasterZone && consecutive(zones))
    return words.say("zones.row", {{"first", number(zones.front())}, {"last", number(zones.back())}});
  std::vector<std::string> items;
  for (int zone : zones)
    items.push_back(zone == kMasterZone          ? words.text("zones.master_in_list")
                    : zones.size() <= kMostNamed ? number(zone) + name_in_brackets(zone, config)
                                                 : number(zone));
  return words.say(zones.front() == kMasterZone ? "zones.outputs" : "zones.several",
                   {{"list", listed(items, words)}});
}

std::string headline(const Finding& f, const Config& config, const Words& words) {
  return words.say(fmt::format("headline.{}.{}", f.zones.size() > 1 ? "many" : "one", fault_name(f.fault)),
                   {{"who", zones_in_words(f.zones, config, words)}});
}

std::string one_line(std::string_view text, std::size_t most) {
  std::string line;
  for (char c : text) line += static_cast<unsigned char>(c) < 0x20 || c == 0x7f ? ' ' : c;
  if (line.size() <= most) return line;
  std::size_t end = most;
  while (end > 0 && (static_cast<unsigned char>(line[end]) & 0xc0) == 0x80) --end;
  line.resize(end);
  return line;
}

}  // namespace coilward
