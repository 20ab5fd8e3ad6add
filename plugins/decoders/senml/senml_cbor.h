// The CBOR form of SenML (RFC 8428 section 6), read as a stream: nothing is taken on the word of a length.
#pragma once

#include <string_view>

#include "plugins/decoders/senml/senml_pack.h"

namespace coilward_plugins {

void decode_senml_cbor(std::string_view payload, SenmlPack& pack, coilward::plugin::Values& out);

}  // namespace coilward_plugins
