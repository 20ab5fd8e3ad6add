// The parts of a visit sheet as HTML. Thread: the SiteAccess's.
#pragma once

#include <string>

#include "daemon/web/api_route.h"
#include "daemon/web/visit_sheet.h"

namespace coilward {

// A whole sheet, its title as a heading of `level`, its parts as those one below.
std::string sheet_html(const VisitSheet& sheet, const Call& call, int level);
std::string bring_list(const std::vector<VisitPart>& parts);
std::string care_list(const std::vector<std::string>& cautions);
// "<h2>...</h2>"
std::string heading(int level, const std::string& text_html);

// sheet_steps.cpp: the readings in order, with room for what they show.
std::string steps_html(const VisitSheet& sheet, int level);
// sheet_repair.cpp: what was done and what runs said to that, or room for it.
std::string repair_html(const VisitSheet& sheet, const Call& call, int level);
// A line to write on, after a word.
std::string blank(std::string_view word, std::string_view kind = "");

}  // namespace coilward
