// What whoever takes a reading or mends a place must mind, as sentences. Thread: any.
#pragma once

#include <string>

#include "daemon/locate/place.h"
#include "daemon/locate/test_reading.h"
#include "daemon/pipeline.h"

namespace coilward {

std::string reading_caution(Fault fault, ReadingKind kind, bool at_controller);
std::string mending_caution(const Place& place);

}  // namespace coilward
