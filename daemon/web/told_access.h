// What the page "Who is told" asks of a site: how each notifier does, and the phones that webpush tells.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/base/time.h"
#include "daemon/pipeline.h"

namespace coilward {

struct NotifierView {
  std::string name;  // the user's
  std::string plugin;
  Severity at_least = Severity::watch;
  bool ok = true;
  std::string why;              // what is wrong, when not
  std::uint64_t delivered = 0;  // since the daemon started
  std::uint64_t refused = 0;    // for good, by the other side, and given up after a day
  UtcTime last_attempt = kNever;
  std::string last_words;   // the other side's, of the last attempt
  UtcTime tested = kNever;  // the last test since the daemon started
  bool test_taken = false;
  std::string test_words;
};

struct PhoneView {
  std::string id;
  std::string label;
  std::string service;  // host name of its push service
  UtcTime since = kNever;
};

// What a browser's PushSubscription says; keys in base64url.
struct PhoneSubscription {
  std::string endpoint, p256dh, auth, label;
};

// Thread: the SiteAccess's. Each call looks at a few small files. notifier: the name of a webpush one;
// not_found otherwise.
class PhoneDesk {
 public:
  virtual ~PhoneDesk() = default;
  // The public key that a browser subscribes with, base64url. world: it cannot be read or made.
  virtual Result<std::string> key(const std::string& notifier) = 0;
  virtual Result<std::vector<PhoneView>> phones(const std::string& notifier) = 0;
  // bad_input: not what a browser gives.
  virtual Result<bool> add(const std::string& notifier, const PhoneSubscription& subscription) = 0;
  virtual Result<bool> remove(const std::string& notifier, const std::string& id) = 0;  // not_found
};

}  // namespace coilward
