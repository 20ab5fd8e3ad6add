// Alerts that wait for the end of someone's quiet hours: the latest of each cause is told. Thread: any.
#pragma once

#include <string>
#include <vector>

#include "daemon/pipeline.h"

namespace coilward {

// Everything that `earlier` was about, `later` is about too.
bool covers(const Alert& later, const Alert& earlier);
// What is told of both to someone who has heard neither: the later; news stays news.
Alert merged_with(const Alert& earlier, Alert later);
// One message for all of them, at least two. Its id follows from theirs, from the person and from the end of
// the quiet hours.
Alert digest_of(const std::vector<Alert>& held, const std::string& person, UtcTime end);

}  // namespace coilward
