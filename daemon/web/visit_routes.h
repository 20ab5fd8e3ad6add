// The routes of a visit: its sheet for one finding, and for a site. One table, which api.cpp takes in. The
// folder's own header.
#pragma once

#include "daemon/web/api_route.h"

namespace coilward {

// page_visit.cpp
ApiResponse get_sheet_page(const Call& call);
ApiResponse get_visit_page(const Call& call);
ApiResponse get_sheet(const Call& call);
ApiResponse get_visit(const Call& call);

inline constexpr RouteEntry kVisitRoutes[] = {
    {"GET", "/visit", Need::read, "", get_visit_page, nullptr, Face::page},
    {"GET", "/finding/{id}/sheet", Need::read, "", get_sheet_page, nullptr, Face::page},
    {"GET", "/api/v1/visit", Need::read, "", get_visit},
    {"GET", "/api/v1/findings/{id}/sheet", Need::read, "", get_sheet},
};

}  // namespace coilward
