// The names under which channels are filed. A Channel's number depends on the configuration (a common's
// position in it), so files hold the contract's channel text instead: "zone/4/current",
// "common/main/current".
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

// Thread: any, once made. A copy is cheap and holds no reference to the configuration it came from.
class ChannelNames {
 public:
  ChannelNames() = default;
  explicit ChannelNames(const Config& config) { commons_.commons = config.commons; }

  std::string text(Channel channel) const { return channel_text(channel, commons_); }
  // nullopt: not a channel, or a common that the configuration no longer has.
  std::optional<Channel> channel(std::string_view text) const { return parse_channel(text, commons_); }

 private:
  Config commons_;  // only the commons are filled: all that naming needs
};

}  // namespace coilward
