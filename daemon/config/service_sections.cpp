// mqtt, sensors, plugins, alerts, history, paths, http: how the daemon works.
#include <arpa/inet.h>
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <set>

#include "daemon/config/sections.h"

namespace coilward {
namespace {

bool good_url(std::string_view url) {
  for (std::string_view scheme : {"mqtt://", "mqtts://"}) {
    if (!url.starts_with(scheme)) continue;
    std::string_view rest = url.substr(scheme.size());
    const auto colon = rest.rfind(':');
    const bool bracketed = rest.ends_with(']');
    const std::string_view port = colon == std::string_view::npos || bracketed ? "" : rest.substr(colon + 1);
    if (rest.empty() || rest.find_first_of("@/ ") != std::string_view::npos || colon == 0) return false;
    if (colon != std::string_view::npos && !bracketed &&
        (port.empty() || port.size() > 5 ||
         !std::all_of(port.begin(), port.end(), [](char c) { return c >= '0' && c <= '9'; })))
      return false;
    return port.empty() ||
           (std::atoi(std::string(port).c_str()) > 0 && std::atoi(std::string(port).c_str()) < 65536);
  }
  return false;
}

std::string from_environment(const char* name, const char* otherwise) {
  const char* value = std::getenv(name);
  return value && *value ? std::string(value).substr(0, std::string_view(value).find(':')) : otherwise;
}

std::string default_plugins() {
  if (const char* set = std::getenv("COILWARD_PLUGINS"); set && *set) return set;
  std::error_code error;
  const auto program = std::filesystem::read_symlink("/proc/self/exe", error);
  if (error) return "/usr/lib/coilward/plugins";
  for (const char* place : {"../plugins", "../lib/coilward/plugins", "../../plugins", "../../../plugins"})
    if (const auto path = program.parent_path() / place; std::filesystem::is_directory(path, error))
      return path.lexically_normal().string();
  return "/usr/lib/coilward/plugins";
}

PluginUse plugin_use(const TableReader& in) {
  PluginUse use;
  use.name = in.text("name");
  use.plugin = in.text("plugin");
  use.line = static_cast<int>(in.line());
  use.settings = in.own_keys();
  return use;
}

constexpr const char* kUnits[] = {"A", "mA", "V", "mV", "Cel", "degF", "boolean"};

void read_sensor(const TableReader& in, Config& config) {
  SensorConfig sensor;
  sensor.topic = in.text("topic");
  sensor.channel = in.text("channel");
  sensor.decoder = in.text("decoder", "number");
  sensor.unit = in.text("unit");
  sensor.every_s = in.number("every_s", kNotMeasured);
  sensor.max_value = in.number("max_value", kNotMeasured);
  sensor.line = static_cast<int>(in.line());
  sensor.settings = in.own_keys();
  if (!sensor.channel.empty() && !parse_channel(sensor.channel, config))
    in.complain("channel", fmt::format("found \"{}\"; allowed are such as zone/4/current, zone/4/command, "
                                       "common/main/current, supply/voltage, soil/temperature",
                                       sensor.channel));
  // These two do not say what their value is; another plugin's payload may.
  const bool bare = sensor.decoder == "number" || sensor.decoder == "json";
  if (sensor.channel.empty() && bare)
    in.complain("channel", "missing; needed: what the value is, such as zone/4/current");
  const bool command = sensor.channel.ends_with("/command");
  if (sensor.unit.empty() && bare && !command)
    in.complain("unit", "missing; needed: the unit of the payload, one of A, mA, V, mV, Cel, degF");
  if (!sensor.unit.empty() &&
      std::find(std::begin(kUnits), std::end(kUnits), sensor.unit) == std::end(kUnits))
    in.complain("unit", fmt::format("found \"{}\"; allowed are {}", sensor.unit, fmt::join(kUnits, ", ")));
  config.sensors.push_back(std::move(sensor));
}

void read_heartbeat(const TableReader& in, HeartbeatConfig& beat) {
  beat.url = in.text("url");
  beat.topic = in.text("topic");
  beat.every_s = in.number("every_s", beat.every_s);
  beat.readings_s = in.number("readings_s", beat.readings_s);
  if (beat.url.empty() && beat.topic.empty())
    in.complain("url", "found neither url nor topic; allowed is one of them or both");
  if (!beat.url.empty() && !beat.url.starts_with("https://") && !beat.url.starts_with("http://"))
    in.complain("url", fmt::format("found \"{}\"; allowed is an address that begins with https:// or http://",
                                   beat.url));
  if (beat.topic.find_first_of("+#") != std::string::npos)
    in.complain("topic", fmt::format("found \"{}\"; allowed is a topic without wildcards", beat.topic));
}

void read_forecast(const TableReader& in, ForecastConfig& forecast) {
  forecast.lift_share = in.number("lift_share", forecast.lift_share);
  forecast.hold_share = in.number("hold_share", forecast.hold_share);
  forecast.horizon_days = in.number("horizon_days", forecast.horizon_days);
  if (forecast.hold_share >= forecast.lift_share)
    in.complain("hold_share", fmt::format("found {}; allowed is less than lift_share, which is {}",
                                          forecast.hold_share, forecast.lift_share));
}

// Bounds of the site's name where it is one of many: a level of a topic on any broker, and a key.
constexpr std::size_t kLongestFleetSite = 32;

void read_fleet(const TableReader& in, Config& config) {
  FleetConfig& fleet = config.fleet;
  fleet.monthly_megabytes = in.number("monthly_megabytes", 0);
  const bool metered = fleet.monthly_megabytes > 0;
  fleet.every_minutes = in.number("every_minutes", metered ? 240 : 60);
  fleet.mqtt.url.clear();
  fleet.mqtt.keep_alive_s = metered ? 1800 : 300;
  read_broker(in, fleet.mqtt);
  if (config.site.id.size() > kLongestFleetSite)
    in.complain("url", fmt::format("found a site id of {} characters; allowed are {} where a site is one of "
                                   "many",
                                   config.site.id.size(), kLongestFleetSite));
}

bool is_address(const std::string& text) {
  unsigned char bytes[sizeof(in6_addr)];
  return ::inet_pton(AF_INET, text.c_str(), bytes) == 1 || ::inet_pton(AF_INET6, text.c_str(), bytes) == 1;
}

void read_http(const TableReader& in, HttpConfig& http) {
  http.port = in.integer("port", 0);
  http.address = in.text("address");
  http.certificate = in.text("certificate");
  http.key = in.text("key");
  http.behind_proxy = in.boolean("behind_proxy", false);
  http.metrics = in.boolean("metrics", true);
  http.address_line = in.line_of("address");
  http.certificate_line = in.line_of("certificate");
  http.proxy_line = in.line_of("behind_proxy");
  if (!http.address.empty() && !is_address(http.address))
    in.complain("address",
                fmt::format("found \"{}\"; allowed is an IP address, such as 192.168.1.10, 0.0.0.0 or ::",
                            http.address));
  else if (http.beyond_loopback() && http.certificate.empty() && http.key.empty())
    in.complain("address", fmt::format("found \"{}\", which others reach; passwords would cross the network "
                                       "in the clear. Give certificate and key; or leave address out, with "
                                       "behind_proxy = true where a reverse proxy of this machine has them",
                                       http.address));
  if (http.certificate.empty() != http.key.empty())
    in.complain(http.key.empty() ? "certificate" : "key", "certificate and key go together");
}

}  // namespace

bool HttpConfig::beyond_loopback() const {
  return !address.empty() && !address.starts_with("127.") && address != "::1";
}

void read_broker(const TableReader& in, MqttConfig& mqtt) {
  mqtt.url = in.text("url", mqtt.url);
  if (in.has("url") && !good_url(mqtt.url))
    in.complain(
        "url",
        fmt::format("found \"{}\"; allowed is mqtt://host[:port] or mqtts://host[:port], without a password",
                    mqtt.url));
  mqtt.username = in.text("username");
  mqtt.password_file = in.text("password_file");
  mqtt.ca_file = in.text("ca_file");
  mqtt.cert_file = in.text("cert_file");
  mqtt.key_file = in.text("key_file");
  mqtt.keep_alive_s = in.integer("keep_alive_s", mqtt.keep_alive_s);
  if (mqtt.cert_file.empty() != mqtt.key_file.empty())
    in.complain("key_file", "cert_file and key_file go together");
  if (!mqtt.password_file.empty() && mqtt.username.empty())
    in.complain("password_file", "found without username; give both");
}

void read_mqtt(const toml::table& root, Config& config, Complaints& complaints) {
  MqttConfig& mqtt = config.mqtt;
  one(root, "mqtt", complaints, [&](const TableReader& in) {
    read_broker(in, mqtt);
    const std::string version = in.text("version", "3.1.1");
    if (version != "3.1.1" && version != "5")
      in.complain("version", fmt::format("found \"{}\"; allowed are \"3.1.1\" and \"5\"", version));
    mqtt.version = version == "5" ? 5 : 4;
    mqtt.client_id = in.text("client_id");
    mqtt.prefix = in.text("prefix", mqtt.prefix);
    if (mqtt.prefix.empty() || mqtt.prefix.find_first_of("+#") != std::string::npos)
      in.complain("prefix", fmt::format("found \"{}\"; allowed is a topic without wildcards", mqtt.prefix));
  });
}

void read_sensors(const toml::table& root, Config& config, Complaints& complaints) {
  each(root, "sensor", complaints, [&](const TableReader& in) { read_sensor(in, config); });
}

void read_plugins(const toml::table& root, Config& config, Complaints& complaints) {
  std::set<std::string> names;
  const auto unique = [&](const TableReader& in, const PluginUse& use) {
    if (in.has("name") && !names.insert(use.name).second)
      in.complain("name", fmt::format("found \"{}\" twice; each has a name of its own", use.name));
  };
  each(root, "notifier", complaints, [&](const TableReader& in) {
    PluginUse use = plugin_use(in);
    const std::string level = in.text("at_least", "watch");
    const auto severity = severity_from_name(level);
    if (!severity)
      in.complain("at_least", fmt::format("found \"{}\"; allowed are watch, soon, urgent", level));
    use.at_least = severity.value_or(Severity::watch);
    unique(in, use);
    config.notifiers.push_back(std::move(use));
  });
  each(root, "exporter", complaints, [&](const TableReader& in) {
    config.exporters.push_back(plugin_use(in));
    unique(in, config.exporters.back());
  });
  const toml::node* decoders = root.get("decoder");
  if (!decoders) return;
  if (!decoders->is_table())
    return complaints.add(decoders->source().begin.line, "decoder: allowed is [decoder.NAME]");
  for (const auto& [name, node] : *decoders->as_table()) {
    if (!node.is_table())
      complaints.add(name.source().begin.line,
                     fmt::format("decoder.{}: found {}; allowed is a table [decoder.{}]", name.str(),
                                 found_text(node), name.str()));
    else
      config.decoder_settings[std::string(name.str())] = to_json(node);
  }
}

void read_service(const toml::table& root, Config& config, Complaints& complaints) {
  one(root, "alerts", complaints, [&](const TableReader& in) {
    config.alerts.hold_s = in.number("hold_s", 0);
    config.alerts.clear_hold_s = in.number("clear_hold_s", 0);
    config.alerts.group_s = in.number("group_s", config.alerts.group_s);
    config.alerts.trouble_hold_s = in.number("trouble_hold_s", config.alerts.trouble_hold_s);
    config.alerts.repeat_h = in.numbers("repeat_h", config.alerts.repeat_h);
    config.alerts.max_per_hour = in.integer("max_per_hour", config.alerts.max_per_hour);
    if (config.alerts.repeat_h.empty())
      in.complain("repeat_h", "found nothing; allowed is a list of hours, such as [1, 6, 24]");
  });
  one(root, "heartbeat", complaints, [&](const TableReader& in) { read_heartbeat(in, config.heartbeat); });
  one(root, "forecast", complaints, [&](const TableReader& in) { read_forecast(in, config.forecast); });
  one(root, "history", complaints, [&](const TableReader& in) {
    config.history.commit_s = in.number("commit_s", config.history.commit_s);
    config.history.raw_days = in.integer("raw_days", config.history.raw_days);
  });
  config.paths = {from_environment("STATE_DIRECTORY", "/var/lib/coilward"),
                  from_environment("RUNTIME_DIRECTORY", "/run/coilward"), default_plugins()};
  one(root, "paths", complaints, [&](const TableReader& in) {
    config.paths.state = in.text("state", config.paths.state);
    config.paths.run = in.text("run", config.paths.run);
    config.paths.plugins = in.text("plugins", config.paths.plugins);
  });
  one(root, "http", complaints, [&](const TableReader& in) { read_http(in, config.http); });
  one(root, "fleet", complaints, [&](const TableReader& in) { read_fleet(in, config); });
  one(root, "test_run", complaints,
      [&](const TableReader& in) { config.test_run.allow = in.boolean("allow", false); });
}

}  // namespace coilward
