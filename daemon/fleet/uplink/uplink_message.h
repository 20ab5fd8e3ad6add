// One message from a site to the contractor's fleet, and the fleet's answer "have up to N".
//
// Topics (<site>: a-z 0-9 and '-', 32 characters at most):
//   coilward/v1/<site>/up         QoS 1, what is below
//   coilward/v1/<site>/down/have  QoS 0, {"epoch":E,"have":N}: all up to N is committed
//   coilward/v1/<site>/state      retained, with a will: online, offline
//
// A payload is one line of JSON, {"epoch":E,"seq":N,"kind":"runs","t":"2026-05-04T06:12:09.250Z"}, a line
// feed, and the body: JSON, compressed as history/squeeze.h has it. Who sent it is said by the topic, which
// the broker holds against the credential; never by the body. epoch is new whenever a site's outbox is made
// anew; seq counts 1, 2, 3 .. in it and is never used twice. Bodies, times in whole seconds since 1970 where
// not RFC 3339:
//   site     {"name", "timezone", "version", "zones": [{"zone", "name", "normal_amps", "low_amps",
//   "high_amps"}]} health   {"troubles": [{"stage", "why", "since"}]}: what is wrong with coilward itself
//   there finding  {"findings": [contract section 5]} runs     {"zone": [..], "start": [..], "seconds": [..],
//   "hold_ma": [..], "inrush_ma": [..], "ended": [..]}:
//            one column each; null: not measured
//   history  {"hours": {"zone/1/current": {"hour": [since 1970], "count": [..], "lowest": [..], "mean": [..],
//            "highest": [..]}}}
//   lost     {}: what this number was is lost at the site; it holds the number's place
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "daemon/base/result.h"
#include "daemon/base/time.h"

namespace coilward {

// In the order in which they go when not all may. The numbers are kept in databases.
enum class UplinkKind : std::uint8_t { lost = 0, finding = 1, site = 2, health = 3, runs = 4, history = 5 };
std::string_view uplink_kind_name(UplinkKind kind);  // "runs"
std::optional<UplinkKind> uplink_kind_from_name(std::string_view name);

// A message with all it needs fits any broker (own choice; some refuse more than 256 KiB).
inline constexpr std::size_t kMostUplinkBytes = 64 * 1024;

struct UplinkHead {
  std::int64_t epoch = 0;  // 1 .. 2^53-1
  std::int64_t seq = 0;
  UplinkKind kind = UplinkKind::lost;
  UtcTime made = kNever;  // by the site's clock
};

// The body as it goes; put after pack_uplink_head. Thread: any, as all here.
std::string squeeze_uplink_body(std::string_view json);
std::string uplink_payload(const UplinkHead& head, std::string_view squeezed);

struct UplinkPayload {
  UplinkHead head;
  std::string_view squeezed;  // into the payload
};
// bad_input: no such head.
Result<UplinkPayload> read_uplink(std::string_view payload);
// bad_input: damaged, or unreasonably long when unpacked.
Result<std::string> unsqueeze_uplink_body(std::string_view squeezed);

struct UplinkHave {
  std::int64_t epoch = 0;
  std::int64_t have = 0;
};
std::string have_payload(const UplinkHave& have);
std::optional<UplinkHave> read_have(std::string_view payload);

bool good_site_id(std::string_view site);
std::string up_topic(std::string_view site);
std::string have_topic(std::string_view site);
std::string state_topic(std::string_view site);
// The site of coilward/v1/<site>/<rest>; nullopt: another topic, or no site's id.
std::optional<std::string> site_of_topic(std::string_view topic, std::string_view rest);

}  // namespace coilward
