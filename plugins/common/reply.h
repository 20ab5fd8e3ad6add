// What deliver and store answer with, inside a plugin.
#pragma once

#include <string>

#include "plugins/plugin.h"

namespace coilward_plugins {

struct Reply {
  int outcome = COILWARD_RETRY;
  std::string words;
};

}  // namespace coilward_plugins
