#include <sys/mman.h>
#include <unistd.h>

#include <nlohmann/json.hpp>
#include <string>

#include "daemon/config/config.h"
#include "daemon/host/settings_schema.h"
#include "daemon/intake/recording_reader.h"
#include "daemon/intake/topic_filter.h"
#include "tests/fuzz/fuzz_targets.h"

namespace coilward {
namespace {

// What the plugins' own schemas have, every type once.
constexpr std::string_view kSchema = R"([
  {"key": "url", "type": "text", "required": true, "help": "where"},
  {"key": "mode", "type": "text", "default": "auto", "allowed": ["auto", "s", "ms"], "help": "how"},
  {"key": "port", "type": "integer", "default": 25, "help": "port"},
  {"key": "seconds", "type": "number", "default": 1.5, "unit": "s", "help": "wait"},
  {"key": "tls", "type": "boolean", "default": true, "help": "encrypted"},
  {"key": "to", "type": "list", "help": "to whom"}, {"key": "headers", "type": "table", "help": "more"},
  {"key": "value", "type": "pointer", "default": "/value", "help": "where it is"},
  {"key": "password_file", "type": "file", "help": "secret"}])";

void complete(const SettingsSchema& schema, std::string_view text) {
  const auto settings = nlohmann::ordered_json::parse(text, nullptr, false);
  if (settings.is_discarded()) return;
  const auto whole = schema.complete(settings);
  if (!whole) return must_hold(!whole.error().what.empty(), "a complaint has words");
  const auto again = schema.complete(*whole);
  must_hold(again && *again == *whole, "complete settings are complete");
}

}  // namespace

void fuzz_topic(std::string_view input) {
  const auto cut = input.find('\n');
  const auto filter = input.substr(0, cut);
  const auto topic = cut == std::string_view::npos ? input : input.substr(cut + 1);
  const bool good = is_topic_filter(filter), other_good = is_topic_filter(topic);
  const bool matches = topic_matches(filter, topic);
  if (!good) return;
  must_hold(filter_covers(filter, filter), "a filter covers itself");
  must_hold(filters_meet(filter, filter) || filter.empty(), "a filter meets itself");
  if (!other_good) return;
  must_hold(filters_meet(filter, topic) == filters_meet(topic, filter), "meeting is mutual");
  if (matches && topic.find_first_of("+#") == std::string_view::npos)
    must_hold(filters_meet(filter, topic), "what matches meets");
}

void fuzz_recording(std::string_view input) {
  const int file = ::memfd_create("recording", MFD_CLOEXEC);
  must_hold(file >= 0 && ::write(file, input.data(), input.size()) == static_cast<ssize_t>(input.size()) &&
                ::lseek(file, 0, SEEK_SET) == 0,
            "a file in memory can be made");
  RecordingReader reader(file);
  std::uint64_t told = 0, messages = 0, bytes = 0;
  reader.on_bad_line([&](std::uint64_t line, std::string_view why) {
    must_hold(line > 0 && !why.empty(), "a bad line has a number and a reason");
    ++told;
  });
  for (Message message; reader.next(message); ++messages)
    for (const char c : std::string(message.topic) + std::string(message.payload))
      bytes += static_cast<unsigned char>(c);
  must_hold(reader.bad_lines() == told, "every bad line is told");
  must_hold(messages + told <= reader.lines(), "no line gives two messages");
}

void fuzz_config(std::string_view input) {
  const auto config = parse_config(input, "fuzz.toml");
  if (!config) return must_hold(!config.error().what.empty(), "a refusal has words");
  must_hold(!config->site.id.empty() && !config->commons.empty(), "a configuration is whole");
  for (const ZoneConfig& zone : config->zones)
    must_hold(zone.number >= 1 && zone.number <= 255 && zone.box < static_cast<int>(config->boxes.size()),
              "a zone has a place");
}

void fuzz_settings(std::string_view input) {
  static const SettingsSchema schema = std::move(*SettingsSchema::parse(kSchema));
  const auto cut = input.find('\0');
  if (cut == std::string_view::npos) return complete(schema, input);
  const auto given = SettingsSchema::parse(input.substr(0, cut));
  if (given) complete(*given, input.substr(cut + 1));
}

}  // namespace coilward
