// What waits for the fleet: uplink.db beside state.db. Messages under (epoch, seq), compressed, each sealed
// with a CRC, and the marks of how far what is to be sent was taken from history and state. A message and the
// marks that it moves are one transaction, so that nothing is left out or taken twice, whenever the power
// fails.
//
// It stays small: what is not in it yet lies in history.db and state.db anyway, and waits there.
//
// Damage: a row whose seal is broken keeps its number as a message of kind `lost`, and the marks go back to
// before it, so that what it held is taken once more. A file that SQLite cannot read is moved aside; the new
// one begins a new epoch, without marks.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/fleet/uplink/uplink_message.h"

namespace coilward {

using UplinkMarks = std::map<std::string, std::string>;

// One message to be: its body, and the marks once it is in the outbox. Where they go back after damage, the
// lower number counts.
struct Parcel {
  UplinkKind kind = UplinkKind::lost;
  std::string json;
  UplinkMarks marks;
};

struct UplinkRow {
  UplinkHead head;
  std::string squeezed;
};

struct UplinkOutboxCounts {
  std::uint64_t waiting = 0;  // messages not confirmed
  std::uint64_t bytes = 0;    // of their bodies
  std::uint64_t damaged = 0;  // rows and files found damaged since the file was made
};

// Thread: one at a time. Every change is synced when the call returns: a number that went out is never given
// to another message. Errors: world.
class UplinkOutbox {
 public:
  // Makes the file when it is missing. bad_config: made by a newer program or something else.
  static Result<UplinkOutbox> open(const std::string& path, UtcTime now);
  UplinkOutbox(UplinkOutbox&&) noexcept;
  UplinkOutbox& operator=(UplinkOutbox&&) noexcept;
  ~UplinkOutbox();

  std::int64_t epoch() const;
  std::int64_t have() const;  // confirmed up to
  std::int64_t last() const;  // number of the latest message ever added in this epoch
  const UplinkMarks& marks() const;
  UplinkOutboxCounts counts() const;

  Result<bool> add(const Parcel& parcel, UtcTime now);
  // Marks that no message moves.
  Result<bool> set_marks(const UplinkMarks& marks);
  // Rows after a number, in order, without gaps.
  Result<std::vector<UplinkRow>> after(std::int64_t seq, std::size_t limit);
  // All up to `have` is with the fleet: gone here. Writes the marks too.
  Result<bool> cut(std::int64_t have, const UplinkMarks& marks);
  // For when the other side knows more than we ever sent: this file is an old copy. What waits is numbered
  // anew.
  Result<bool> begin_epoch();

 private:
  class Impl;
  explicit UplinkOutbox(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
