// What every page has around its own part: head, name of the site, symbols, foot. Thread: the SiteAccess's.
#pragma once

#include <string>
#include <string_view>

#include "daemon/web/api_route.h"

namespace coilward {

struct PageParts {
  std::string title;      // not escaped
  std::string main;       // HTML
  int refresh_s = 0;      // comes again by itself so often where there is no script; 0: does not
  bool live = true;       // takes the events of /events
  std::string head = {};  // more HTML in <head>
};

// The whole document, of whatever server: what is around a page's own part.
struct PageAround {
  std::string name;     // of the site or the server, not escaped
  std::string clock;    // HTML: now
  std::string version;  // of what the page shows, for live.js
  std::string links;    // HTML at the foot
};
std::string page_document(const PageParts& parts, const PageAround& around);

ApiResponse page_response(const Call& call, const PageParts& parts, int status = 200);
// A problem of page and form, for people. `back` is HTML-safe.
ApiResponse problem_page(const Call& call, const ApiResponse& problem);
// For people or for programs, by the path that was asked for.
ApiResponse problem_for(const Call& call, const ApiResponse& problem);
ApiResponse problem_for(const Call& call, const Error& error);

// What was just done, as /...?said=WORD tells it; empty for a word that is not known.
std::string said_part(const Call& call);
// Asks for a name for the record; nothing where a login says who it is.
std::string name_field(const Call& call, const std::string& id,
                       std::string_view words = "Your name, for the record");
// A hidden field that proves that a form is ours.
std::string token_field(const Call& call);

}  // namespace coilward
