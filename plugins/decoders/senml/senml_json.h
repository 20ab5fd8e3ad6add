// The JSON form of SenML (RFC 8428 section 5).
#pragma once

#include <simdjson.h>

#include <string_view>

#include "plugins/decoders/senml/senml_pack.h"

namespace coilward_plugins {

// Keeps its memory from one payload to the next, up to what 64 kB of payload need.
class SenmlJson {
 public:
  void decode(std::string_view payload, SenmlPack& pack, coilward::plugin::Values& out);

 private:
  void decode_document(std::string_view payload, SenmlPack& pack, coilward::plugin::Values& out);
  simdjson::dom::parser parser_;
};

}  // namespace coilward_plugins
