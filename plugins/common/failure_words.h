// A failed transfer's kind in front of libcurl's own words, so that whoever set a notifier up sees at once
// where to look: "connection refused: Failed to connect to ...". Thread: any.
#pragma once

#include <curl/curl.h>

#include <string>

namespace coilward_plugins {

// os_error: of CURLINFO_OS_ERRNO, 0 for none. Kinds: no such host (DNS), connection refused, no connection,
// TLS failed, login refused, no answer in time; the words alone where there is no kind.
std::string failure_words(CURLcode code, long os_error, const std::string& words);

}  // namespace coilward_plugins
