// What deliver and store answer with, under the name that the plugins here use.
#pragma once

#include <cstdint>

#include "plugins/plugin.hpp"

namespace coilward_plugins {

using coilward::plugin::Host;
using coilward::plugin::Reply;

}  // namespace coilward_plugins
