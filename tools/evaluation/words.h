// One site in words: for the worst cases and for looking at one.
#pragma once

#include <string>

#include "tools/evaluation/score.h"

namespace coilward::evaluate {

std::string site_line(const SiteRecord& record);
std::string fault_line(const SiteRecord& record, const TrueFault& fault, const FaultScore& score);
std::string told_line(const SiteRecord& record, const Told& told);
// Everything about it.
std::string site_story(const SiteRecord& record, const SiteScore& score);

// How bad a site's outcome is, to sort by.
double badness(const SiteRecord& record, const std::vector<Told>& told, const SiteScore& score);
std::string worst_case(const SiteRecord& record, const SiteScore& score);

}  // namespace coilward::evaluate
