// How a finding came to be what it is: every form it was said in, and what each changed. Thread: the
// SiteAccess's.
#pragma once

#include <string>

#include "daemon/web/api_route.h"

namespace coilward {

// What is another in `now` than in `before`, in words, for people; empty: nothing worth a word. Not escaped.
std::string change_words(const Finding& before, const Finding& now);

// <section>...; empty when it was said in one form only.
std::string changes_part(const Finding& finding, const Call& call);

}  // namespace coilward
