// The files of daemon/alerts/words as text. Thread: any.
#pragma once

#include <string_view>

namespace coilward {

extern const std::string_view kEnglishWords, kSpanishWords;

}  // namespace coilward
