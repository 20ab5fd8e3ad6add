// Where messages to the fleet come from. The real one reads history and state (site_parcels.h).
#pragma once

#include <optional>

#include "daemon/fleet/uplink/uplink_outbox.h"

namespace coilward {

// Thread: one at a time. Errors: world; try again later.
class ParcelSource {
 public:
  virtual ~ParcelSource() = default;
  // What comes next of this kind after the marks; nullopt: nothing is ready. A parcel without JSON moves
  // marks only.
  virtual Result<std::optional<Parcel>> next(UplinkKind kind, const UplinkMarks& marks, UtcTime now) = 0;
};

}  // namespace coilward
