// Times in which alerts are held back because somebody works on the site. Each ends by itself. What is read
// meanwhile is daemon/runs/work_on_site.h's.
#pragma once

#include <string>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"

namespace coilward {

// Longest pause: longer ones are forgotten ones (own choice).
inline constexpr Millis kLongestPause = std::chrono::hours{31 * 24};

// A message held by a pause comes within the grouping window, or an hour later by the hourly limit.
inline constexpr Millis kRemembered = std::chrono::hours{2};

// What a pause is about: one zone, or the whole site.
struct PauseScope {
  int zone = -1;  // -1: the site
  static PauseScope site() { return {}; }
  static PauseScope only(int zone) { return {zone}; }
  bool is_site() const { return zone < 0; }
  friend bool operator==(const PauseScope&, const PauseScope&) = default;
};

struct AlertPause {
  PauseScope scope;
  UtcTime from = kNever;
  UtcTime until = kNever;
  std::string who;
};

// Thread: one at a time.
class Pauses {
 public:
  // Changes the end of a running pause of the same scope, or starts one. bad_input: it ends before now, or
  // lasts over kLongestPause.
  Result<bool> pause(PauseScope scope, UtcTime until, std::string who, UtcTime now);
  // Ends a pause now. not_found: nothing with that scope is paused.
  Result<bool> resume(PauseScope scope, UtcTime now);
  // Drops those that ended over kRemembered ago: until then what they held back is still waiting for its
  // turn.
  void forget_ended(UtcTime now);

  // When something about these zones that is due at `due` may be said: `due` itself, or the end of the pauses
  // that cover it. A pause of a zone covers what concerns paused zones only: a common that takes out others
  // too is news. What concerns no zone (the supply) is covered by a pause of the site.
  UtcTime may_be_said(const std::vector<int>& zones, UtcTime due) const;

  std::vector<AlertPause> running(UtcTime now) const;
  Json save() const;
  void restore(const Json& json);  // throws nlohmann::json::exception on another shape

 private:
  AlertPause* running(PauseScope scope, UtcTime now);
  const AlertPause* covering(PauseScope scope, UtcTime at) const;
  UtcTime covered_until(const std::vector<int>& zones, UtcTime at) const;

  std::vector<AlertPause> pauses_;
};

}  // namespace coilward
