// MQTT topic filters (MQTT 5.0 and 3.1.1, section 4.7): '+' stands for one level, '#' for all that follow and
// for the level before it; neither stands for a first level that begins with '$'. Thread: any.
#pragma once

#include <string_view>

namespace coilward {

// Wildcards fill whole levels, '#' is last, at least one character, no zero byte, at most 65535 bytes.
bool is_topic_filter(std::string_view filter);

// The filter of a shared subscription, "$share/<group>/<filter>" (MQTT 5.0, 4.8.2); any other as it is.
std::string_view without_share(std::string_view filter);

bool topic_matches(std::string_view filter, std::string_view topic);

// Every topic of `narrow` is one of `wide`.
bool filter_covers(std::string_view wide, std::string_view narrow);

// There is a topic that both match.
bool filters_meet(std::string_view a, std::string_view b);

}  // namespace coilward
