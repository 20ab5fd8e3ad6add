// Server-sent events (WHATWG HTML, section 9.2) for the pages: what zones draw, as it changes, and that
// something else has changed so that the page should be asked for anew. Thread: the SiteAccess's.
#pragma once

#include <map>
#include <string>

#include "daemon/web/site_access.h"
#include "daemon/web/zone_now.h"

namespace coilward {

class LiveEvents {
 public:
  explicit LiveEvents(const SiteAccess& site) : site_(site) {}
  // What is new since the call before, as event text; empty when nothing is. The first gives everything.
  std::string next();

 private:
  const SiteAccess& site_;
  std::map<int, std::string> told_;  // by zone
  std::string version_;
};

// What one zone draws now, for the page in hand: told when there is a new reading, and once a second in any
// case, so that whoever listens knows that silence is the sensor's and not the line's.
class ZoneNowEvents {
 public:
  static constexpr Millis kStep{250};  // between two looks: sensors say something once a second or oftener
  ZoneNowEvents(const SiteAccess& site, int zone) : site_(site), watch_(site, zone) {}
  std::string next();

 private:
  const SiteAccess& site_;
  ZoneWatch watch_;
  std::string told_;  // what it says apart from the passing of time
  UtcTime at_ = kNever;
};

// What a page shows apart from what zones draw: when this text changes, a page is out of date.
std::string page_version(const SiteAccess& site);

}  // namespace coilward
