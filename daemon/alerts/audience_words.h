// The words of each audience, put together by spoken() (wording.h). Thread: any.
#pragma once

#include "daemon/alerts/wording.h"

namespace coilward {

Spoken technician_words(const std::vector<Telling>& tellings, const Alert& alert, const Listener& listener,
                        const Config& config);
Spoken homeowner_words(const std::vector<Telling>& tellings, const Alert& alert, const Listener& listener,
                       const Config& config);
Spoken contractor_words(const std::vector<Telling>& tellings, const Alert& alert, const Listener& listener,
                        const Config& config);
// Of a trouble of the installation.
Spoken trouble_words(const Alert& alert, const Listener& listener, const Config& config);

// Mails and short messages cut longer subjects (own choice).
inline constexpr std::size_t kLongestSubject = 250;

}  // namespace coilward
