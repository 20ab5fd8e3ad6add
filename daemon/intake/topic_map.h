// Which source a topic belongs to: a [[sensor]] of the configuration, or the site's own measure/ topics.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/config/config.h"

namespace coilward {

struct TopicSource {
  int sensor = -1;                 // position in Config::sensors; -1: under measure/
  std::optional<Channel> channel;  // what the configuration or the topic says; none: the payload must
};

// Thread: one at a time. Remembers what it found, so that a topic seen before costs one look-up.
class TopicMap {
 public:
  // bad_config: a [[sensor]] topic that is no filter, or one that meets another source's, so that one message
  // would count twice. A filter that lies wholly within measure/ overrides it there.
  static Result<TopicMap> make(const Config& config);

  // nullptr: nobody's. Good until the next call.
  const TopicSource* find(std::string_view topic);
  std::vector<std::string> subscriptions() const;

 private:
  struct Hash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const { return std::hash<std::string_view>()(text); }
  };
  struct Known {
    bool ours = false;
    TopicSource source;
  };

  explicit TopicMap(const Config& config);
  Result<bool> check_filters() const;
  Known look(std::string_view topic) const;

  const Config* config_;
  std::string measure_;  // "coilward/juniper-row-12/measure/"
  std::string report_;
  std::unordered_map<std::string, Known, Hash, std::equal_to<>> known_;
};

}  // namespace coilward
