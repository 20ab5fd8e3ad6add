// The decoders of a site, and which one a message gets.
#pragma once

#include <string_view>
#include <vector>

#include "daemon/config/config.h"
#include "daemon/host/plugin_host.h"
#include "daemon/intake/topic_map.h"

namespace coilward {

// Thread: one at a time.
class DecoderSet {
 public:
  // One for each [[sensor]], and number, senml and json for topics under measure/. bad_config: as PluginHost,
  // and a sensor's unit that is none of its channel's.
  static Result<DecoderSet> make(const Config& config, PluginHost& host);

  // Under measure/ the payload decides: '[' or a CBOR array is senml, '{' is json, anything else number.
  Decoder& choose(const TopicSource& source, std::string_view payload);

 private:
  DecoderSet(Decoder number, Decoder senml, Decoder json)
      : number_(std::move(number)), senml_(std::move(senml)), json_(std::move(json)) {}

  Decoder number_, senml_, json_;
  std::vector<Decoder> sensors_;  // as Config::sensors
};

}  // namespace coilward
