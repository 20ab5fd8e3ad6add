#include "plugins/decoders/senml/senml_cbor.h"
#include "plugins/decoders/senml/senml_json.h"
#include "plugins/plugin.hpp"

namespace {

class Senml {
 public:
  Senml(std::string_view, coilward::plugin::Host) {}

  void decode(std::string_view, std::string_view payload, coilward::plugin::Values& out) {
    const auto first = payload.find_first_not_of(" \t\r\n");
    if (first == std::string_view::npos) return out.refuse("empty");
    if (payload[first] == '[') return json_.decode(payload, pack_, out);
    const unsigned major = static_cast<unsigned char>(payload[0]) >> 5;  // RFC 8949 section 3: 4 array, 6 tag
    if (major == 4 || major == 6) return coilward_plugins::decode_senml_cbor(payload, pack_, out);
    out.refuse("found neither a JSON array nor a CBOR array of records");
  }

 private:
  coilward_plugins::SenmlPack pack_;
  coilward_plugins::SenmlJson json_;
};

}  // namespace

COILWARD_DECODER(Senml, "senml", "1.0", "[]")
