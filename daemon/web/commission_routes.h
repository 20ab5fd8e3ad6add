// The routes of the walk through a new site. One table, which api.cpp takes in. The folder's own header.
#pragma once

#include "daemon/web/api_route.h"

namespace coilward {

// page_commission.cpp
ApiResponse get_commission_page(const Call& call);
ApiResponse get_commission_file(const Call& call);
ApiResponse act_commission_begin(const Call& call);
void act_commission_answer(const Call& call, Respond respond);
ApiResponse act_commission_end(const Call& call);

inline constexpr RouteEntry kCommissionRoutes[] = {
    {"GET", "/commission", Need::technician, "", get_commission_page, nullptr, Face::page},
    {"GET", "/commission/site.toml", Need::technician, "", get_commission_file, nullptr, Face::page},
    {"POST", "/commission/begin", Need::technician, "token", act_commission_begin, nullptr, Face::page},
    {"POST", "/commission/answer", Need::technician, "token step answer", nullptr, act_commission_answer,
     Face::page},
    {"POST", "/commission/end", Need::technician, "token", act_commission_end, nullptr, Face::page},
};

}  // namespace coilward
