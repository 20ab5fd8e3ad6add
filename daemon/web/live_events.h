// Server-sent events (WHATWG HTML, section 9.2) for the pages: what zones draw, as it changes, and that
// something else has changed so that the page should be asked for anew. Thread: the SiteAccess's.
#pragma once

#include <map>
#include <string>

#include "daemon/web/site_access.h"

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

// What a page shows apart from what zones draw: when this text changes, a page is out of date.
std::string page_version(const SiteAccess& site);

}  // namespace coilward
