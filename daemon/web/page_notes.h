// Photos and notes of a finding, on its page and on its visit sheet. Thread: the SiteAccess's.
#pragma once

#include <string>
#include <vector>

#include "daemon/web/api_route.h"

namespace coilward {

// A place that a note can belong to.
struct NotePlace {
  std::string value;     // in the form
  std::string from, to;  // as FieldNote::place and place_to
  std::string text;      // "box B", "between box A and box B"
};
// The finding as a whole first, then stop by stop along the wire.
std::vector<NotePlace> note_places(const Config& config, const Finding& finding);

// With forms to add and to delete.
std::string notes_part(const Call& call, const Finding& finding);
// To look at alone, for paper; empty where there is none.
std::string notes_on_sheet(const Call& call, const Finding& finding);

Json note_to_json(const FieldNote& note);
std::string picture_path(const FieldNote& note);

}  // namespace coilward
