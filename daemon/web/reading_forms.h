// Forms that a test reading is entered with, and what they do. Thread: the SiteAccess's.
#pragma once

#include <string>

#include "daemon/locate/locate.h"
#include "daemon/web/api_route.h"

namespace coilward {

// One for each kind of reading; that of the reading proposed next is open and has its place chosen.
std::string reading_forms(const Call& call, const Finding& finding, const Location& location);

// A form's fields as the members of a reading (daemon/locate/test_reading.h). A comma stands for a point,
// "OL" for no path. bad_input: what is no number.
Result<Json> reading_of_form(const FormFields& form);

}  // namespace coilward
