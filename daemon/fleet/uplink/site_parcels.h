// A site's findings, runs and roll-ups as messages to the fleet, out of state.db and history.db, in the order
// in which they were kept there. How far is said by the marks, so that a restart, or weeks without a link,
// leave nothing out.
//
// A finding's forms that were said since the last message go as the latest of them. Another file under the
// same name (moved aside after damage, or restored) is read from its beginning, as far back as kGoBack; the
// fleet takes again what it has and keeps it once.
#pragma once

#include <mutex>
#include <optional>
#include <string>

#include "daemon/base/pipeline_json.h"
#include "daemon/fleet/uplink/parcel_source.h"
#include "daemon/history/channel_names.h"
#include "daemon/history/file_tools.h"
#include "daemon/history/history_reader.h"
#include "daemon/history/state_store.h"

namespace coilward {

// A quarter: what a contractor who takes a site on looks back at, and longer than a link is out.
inline constexpr Millis kGoBack = std::chrono::hours{92 * 24};
inline constexpr Millis kDescribeEvery = std::chrono::hours{24};    // unless names change
inline constexpr Millis kHealthEvery = std::chrono::minutes{30};    // when it changes
inline constexpr Millis kSignOfLifeEvery = std::chrono::hours{24};  // when it does not

// Thread: one at a time; set_troubles from any.
class SiteParcels final : public ParcelSource {
 public:
  // The files need not exist yet. `config` is copied.
  SiteParcels(const Config& config, std::string history_file, std::string state_file, std::string version);

  Result<std::optional<Parcel>> next(UplinkKind kind, const UplinkMarks& marks, UtcTime now) override;
  // What is wrong with coilward itself: an array of {"stage", "why", "since"}.
  void set_troubles(const Json& troubles);

 private:
  using Next = Result<std::optional<Parcel>>;
  Result<bool> open_state();
  Result<bool> open_history();
  Next finding(const UplinkMarks& marks, UtcTime now);
  Next site(const UplinkMarks& marks, UtcTime now);
  Next health(const UplinkMarks& marks, UtcTime now);
  Next runs(const UplinkMarks& marks, UtcTime now);
  Next history(const UplinkMarks& marks, UtcTime now);
  Result<Json> hours_of(Channel channel, std::int64_t from, std::int64_t until);
  bool due(const UplinkMarks& marks, const char* name, Millis every, UtcTime now) const;

  const Config config_;
  const ChannelNames names_;
  const std::string history_file_, state_file_, version_;
  const Millis every_;
  std::optional<HistoryReader> history_;
  std::optional<StateStore> state_;
  std::optional<FileIdentity> history_identity_, state_identity_;
  std::mutex mutex_;
  std::string troubles_;  // JSON of the body; empty: not said yet
};

}  // namespace coilward
