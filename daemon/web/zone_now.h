// What one zone draws at this moment against what it normally draws, for whoever stands at its valve with a
// phone in hand: a figure, a word, how old the reading is, and the course of the last minute. Thread: the
// SiteAccess's.
#pragma once

#include <deque>
#include <string>

#include "daemon/web/site_access.h"

namespace coilward {

enum class DrawLevel : std::uint8_t { unheard, nothing, below, near, normal, above, unlearned };

// A reading older than this is stale, unless the sensor itself speaks less often (own choice: what somebody
// with a splice in hand can wait for).
inline constexpr Millis kFresh = std::chrono::seconds{5};
inline constexpr Millis kStrip = std::chrono::seconds{60};

struct ZoneNow {
  int zone = 0;
  double amps = kNotMeasured;  // the latest reading, however old
  UtcTime time = kNever;       // its time
  NormalDraw normal;
  double share = kNotMeasured;  // of the normal draw; 1 is all of it
  DrawLevel level = DrawLevel::unheard;
  bool on = false;  // said to be, or seen to be
  Millis age{0};
  Millis fresh_for = kFresh;  // beyond that age it says nothing of the present
  bool stale = true;
  std::string test;  // of a test run asked for, in words; empty: none lately
};

// One point of the strip.
struct StripPoint {
  UtcTime time = kNever;
  double amps = kNotMeasured;
};

// Follows one zone. The first look reads the last minute from the history; later ones what is new.
class ZoneWatch {
 public:
  // The zone is one of the site's.
  ZoneWatch(const SiteAccess& site, int zone) : site_(site), zone_(zone) {}
  ZoneNow look();
  const std::deque<StripPoint>& strip() const { return strip_; }  // of the last look, ascending

 private:
  void take(UtcTime from);
  void add(UtcTime time, double amps);

  const SiteAccess& site_;
  const int zone_;
  bool begun_ = false;
  std::deque<StripPoint> strip_;
};

std::string_view level_name(DrawLevel level);   // "near"
std::string_view level_words(DrawLevel level);  // "near normal"
std::string_view level_icon(DrawLevel level);   // of page_frame.cpp
// "96 %"; where no normal draw is learned, the amperes.
std::string figure_text(const ZoneNow& now);
std::string on_words(const ZoneNow& now);
std::string age_words(const ZoneNow& now);
// What of it is shown instead of the level's words when the reading is stale.
std::string state_words(const ZoneNow& now);

}  // namespace coilward
