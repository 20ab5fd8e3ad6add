// Small pieces of HTML and SVG text that every page is made of. Thread: any.
#pragma once

#include <string>
#include <string_view>

#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

// Safe as text and as a quoted attribute, in HTML and in SVG.
std::string html(std::string_view text);
// The same, lines kept: for <pre>.
std::string html_lines(std::string_view text);
// "0.231 A"; "–" when it was not measured.
std::string amps_text(double amps);
// "0.214 to 0.248 A"; what is learned so far says so; "not learned yet" when there is nothing.
std::string band_text(const NormalDraw& normal);
// "31 m" or "102 ft", as the site wants lengths.
std::string length_text(double metres, const Config& config);
// "2 h 5 min", "40 s".
std::string span_text(Millis span);
// "Zone 1", "4 East hedge", "M Master": what stands for a zone in lists. Not escaped yet.
std::string zone_heading(int zone, const std::string& name);
// "98 in 100": never 0 or 100, as nothing is that sure.
int in_hundred_text(double probability);
// "4" or, of the master output, "M".
std::string zone_label(int zone);
// A name cut to this many characters of UTF-8, with an ellipsis when something is missing. Not escaped yet.
std::string short_text(std::string_view text, std::size_t most);
// A symbol of the page's own set (page_frame.cpp), for the eye only: a word stands beside it.
std::string icon(std::string_view name);
// <time> in the site's zone, with the instant for programs. "never" for kNever.
std::string time_tag(UtcTime time, const Config& config);
// The same without weekday, and without the year when it is that of `now`: for tables.
std::string short_time_tag(UtcTime time, UtcTime now, const Config& config);

std::string finding_path(const Finding& finding);  // "/finding/..."
std::string zone_path(int zone);                   // "/zone/4"

}  // namespace coilward
