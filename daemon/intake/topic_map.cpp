#include "daemon/intake/topic_map.h"

#include <fmt/format.h>

#include "daemon/intake/topic_filter.h"

namespace coilward {
namespace {

// Topics remembered. A site has a few dozen; whoever invents more only makes us forget.
constexpr std::size_t kMostKnown = 4096;

std::string at(const Config& config, const SensorConfig& sensor) {
  return fmt::format("{}:{}: sensor.topic", config.file, sensor.line);
}

}  // namespace

TopicMap::TopicMap(const Config& config)
    : config_(&config),
      measure_(fmt::format("{}/{}/measure/", config.mqtt.prefix, config.site.id)),
      report_(fmt::format("{}/{}/report/", config.mqtt.prefix, config.site.id)) {
  known_.reserve(256);
}

Result<TopicMap> TopicMap::make(const Config& config) {
  TopicMap map(config);
  if (const auto fine = map.check_filters(); !fine) return fine.error();
  return map;
}

Result<bool> TopicMap::check_filters() const {
  const auto& sensors = config_->sensors;
  for (std::size_t i = 0; i < sensors.size(); ++i) {
    const std::string_view filter = without_share(sensors[i].topic);
    if (!is_topic_filter(filter))
      return Error{
          Cause::bad_config,
          fmt::format("{}: found \"{}\"; allowed is an MQTT topic filter: + stands for one whole level, # "
                      "for all that follow, at the end",
                      at(*config_, sensors[i]), sensors[i].topic)};
    for (std::size_t k = 0; k < i; ++k)
      if (filters_meet(filter, without_share(sensors[k].topic)))
        return Error{
            Cause::bad_config,
            fmt::format("{}: found \"{}\", which meets \"{}\" of line {}; allowed are filters that share no "
                        "topic, as a message would count twice",
                        at(*config_, sensors[i]), sensors[i].topic, sensors[k].topic, sensors[k].line)};
    const std::string own = measure_ + "#";
    if (filters_meet(filter, own) && !filter_covers(own, filter) && !filter_covers(filter, own))
      return Error{
          Cause::bad_config,
          fmt::format("{}: found \"{}\", which meets a part of \"{}\" and more; allowed are filters inside "
                      "of it, around it, or apart from it",
                      at(*config_, sensors[i]), sensors[i].topic, own)};
  }
  return true;
}

const TopicSource* TopicMap::find(std::string_view topic) {
  auto it = known_.find(topic);
  if (it == known_.end()) {
    if (known_.size() >= kMostKnown) known_.clear();
    it = known_.emplace(topic, look(topic)).first;
  }
  return it->second.ours ? &it->second.source : nullptr;
}

// A sensor whose filter is "#" must not make us read our own reports.
TopicMap::Known TopicMap::look(std::string_view topic) const {
  if (topic.starts_with(report_)) return {};
  for (std::size_t i = 0; i < config_->sensors.size(); ++i) {
    const SensorConfig& sensor = config_->sensors[i];
    if (topic_matches(without_share(sensor.topic), topic))
      return {true, {static_cast<int>(i), parse_channel(sensor.channel, *config_)}};
  }
  if (!topic.starts_with(measure_)) return {};
  return {true, {-1, parse_channel(topic.substr(measure_.size()), *config_)}};
}

std::vector<std::string> TopicMap::subscriptions() const {
  std::vector<std::string> filters{measure_ + "#"};
  for (const auto& sensor : config_->sensors) {
    if (filter_covers(filters[0], sensor.topic)) continue;
    if (filter_covers(sensor.topic, filters[0]))
      filters[0] = sensor.topic;
    else
      filters.push_back(sensor.topic);
  }
  return filters;
}

}  // namespace coilward
