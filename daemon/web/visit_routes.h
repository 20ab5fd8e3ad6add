// The routes of a visit: its sheet for one finding, and for a site. One table, which api.cpp takes in. The
// folder's own header.
#pragma once

#include "daemon/web/api_route.h"

namespace coilward {

// page_visit.cpp
void get_sheet_page(const Call& call, Respond respond);
void get_visit_page(const Call& call, Respond respond);
void get_sheet(const Call& call, Respond respond);
void get_visit(const Call& call, Respond respond);

inline constexpr RouteEntry kVisitRoutes[] = {
    {"GET", "/visit", Need::read, "", nullptr, get_visit_page, Face::page},
    {"GET", "/finding/{id}/sheet", Need::read, "", nullptr, get_sheet_page, Face::page},
    {"GET", "/api/v1/visit", Need::read, "", nullptr, get_visit},
    {"GET", "/api/v1/findings/{id}/sheet", Need::read, "", nullptr, get_sheet},
};

}  // namespace coilward
