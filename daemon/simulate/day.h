#pragma once

namespace coilward::simulate {
inline constexpr double kDay = 86400;  // seconds
}
