// Troubles of the installation itself: the broker is away, the disk is full, a sensor link is down, a damaged
// file was moved aside. One message for one trouble, whatever it takes with it.
//
// Rules: told [alerts] trouble_hold_s after it began (a restart of a broker is no news), again each day while
// it lasts, and once when it is over if it had been told. A trouble that comes back within kNoticeQuiet of
// its last message waits for the rest of that time. Pauses do not apply: whoever works on the valves still
// wants to know that the disk is full.
//
// No clock, thread or file. Thread: one at a time.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"
#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

inline constexpr Millis kNoticeQuiet = std::chrono::hours{1};    // own choice
inline constexpr Millis kNoticeRepeat = std::chrono::hours{24};  // own choice
inline constexpr std::size_t kMostNotices = 64;                  // keys; beyond, new ones are left out

struct SiteTrouble {
  // "broker", "outbox phone": the same from first to last. The first word is that of its texts in the
  // catalogue (installation.broker).
  std::string key;
  Severity severity = Severity::soon;
  std::vector<std::pair<std::string, std::string>> fields;  // what the texts leave open
  bool lasts = true;  // false: it happened, told once, without a reminder or an end
};

class Notices {
 public:
  explicit Notices(const Config& config) : config_(&config) {}

  void raise(const SiteTrouble& trouble, UtcTime now);  // again: its latest words
  void over(std::string_view key, UtcTime now);
  // All that last now; whatever else lasted is over.
  void last(const std::vector<SiteTrouble>& now_lasting, UtcTime now);
  std::vector<Alert> advance(UtcTime now);
  UtcTime next_due() const;  // kNever: nothing is waiting

  void use(const Config& config) { config_ = &config; }
  Json save() const;
  // bad_input: saved by something else; nothing is then known.
  Result<bool> restore(const Json& saved);

 private:
  struct Notice {
    SiteTrouble trouble;
    bool lasting = false;
    bool told = false;  // and not yet that it is over
    UtcTime began = kNever;
    UtcTime last_told = kNever;
    int messages = 0;
  };
  UtcTime due(const Notice& notice) const;
  Alert tell(Notice& notice, UtcTime now) const;

  const Config* config_;
  std::map<std::string, Notice, std::less<>> notices_;
};

}  // namespace coilward
