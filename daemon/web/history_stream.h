// Long answers from the history, made piece by piece: each piece is a page of one channel or a batch of runs,
// so that the thread that makes them is never held for long, and nothing large is ever in memory.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "daemon/history/export.h"
#include "daemon/web/api.h"

namespace coilward {

// How the pieces are dressed. json: one object with a list, of JSON lines.
struct StreamForm {
  ExportForm form = ExportForm::json_lines;
  bool enclosed = false;  // the lines become the members of a list in one object
  std::string before;     // "{...,\"readings\":[" when enclosed
};

struct TimeSpan {  // [since, until)
  UtcTime since = kNever;
  UtcTime until = UtcTime::max();
};

// Readings as recorded, of each channel after the other.
Result<BodyPieces> stream_readings(const SiteAccess& site, std::vector<Channel> channels, TimeSpan span,
                                   StreamForm form);
// Thinned to steps of every_s; a step of exactly a day is a day at the site.
Result<BodyPieces> stream_buckets(const SiteAccess& site, Channel channel, TimeSpan span, double every_s,
                                  StreamForm form);
// zone: -1 for all.
Result<BodyPieces> stream_runs(const SiteAccess& site, int zone, TimeSpan span, StreamForm form);

}  // namespace coilward
