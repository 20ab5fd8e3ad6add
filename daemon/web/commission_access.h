// The walk through a new site, as its page asks for it. Implemented by the daemon (commission_desk.h).
// Thread: that of the SiteAccess.
#pragma once

#include <functional>
#include <string>

#include "daemon/commission/guided_walk.h"

namespace coilward {

class CommissionDesk {
 public:
  virtual ~CommissionDesk() = default;
  // nullptr: none was begun since the daemon started.
  virtual const WalkView* view() const = 0;
  // A new one; what an earlier one had found is gone. world: the configuration's file cannot be read.
  virtual Result<bool> begin() = 0;
  // As GuidedWalk::answer. not_found: there is none.
  virtual Result<bool> answer(int step, const std::string& text, std::function<void()> then) = 0;
  virtual void end() = 0;
};

}  // namespace coilward
