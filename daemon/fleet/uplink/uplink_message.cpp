#include "daemon/fleet/uplink/uplink_message.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/history/squeeze.h"

namespace coilward {
namespace {

constexpr std::string_view kKindNames[] = {"lost", "finding", "site", "health", "runs", "history"};
constexpr std::string_view kTopicRoot = "coilward/v1/";
constexpr std::size_t kLongestSite = 32;
constexpr std::size_t kLongestHead = 200;
// 64 KiB of runs unpack to some 600 KiB; this bounds what a false length can ask for.
constexpr std::size_t kMostUnpacked = 4u << 20;
constexpr std::int64_t kMostExact =
    (std::int64_t{1} << 53) - 1;  // whole numbers in JSON (RFC 8259, section 6)

std::int64_t whole(const nlohmann::json& json, const char* key) {
  const auto it = json.find(key);
  if (it == json.end() || !it->is_number_integer()) return 0;
  const auto value = it->get<std::int64_t>();
  return value > 0 && value <= kMostExact ? value : 0;
}

std::string text(const nlohmann::json& json, const char* key) {
  const auto it = json.find(key);
  return it != json.end() && it->is_string() ? it->get<std::string>() : std::string();
}

}  // namespace

std::string_view uplink_kind_name(UplinkKind kind) { return kKindNames[static_cast<int>(kind)]; }

std::optional<UplinkKind> uplink_kind_from_name(std::string_view name) {
  const auto it = std::ranges::find(kKindNames, name);
  if (it == std::end(kKindNames)) return std::nullopt;
  return static_cast<UplinkKind>(it - std::begin(kKindNames));
}

std::string squeeze_uplink_body(std::string_view json) {
  std::string out;
  put_squeezed(out, json, Squeeze::thorough);
  return out;
}

std::string uplink_payload(const UplinkHead& head, std::string_view squeezed) {
  return fmt::format("{{\"epoch\":{},\"seq\":{},\"kind\":\"{}\",\"t\":\"{}\"}}\n{}", head.epoch, head.seq,
                     uplink_kind_name(head.kind), format_rfc3339(head.made), squeezed);
}

Result<UplinkPayload> read_uplink(std::string_view payload) {
  const auto end = payload.substr(0, kLongestHead).find('\n');
  if (end == std::string_view::npos) return Error{Cause::bad_input, "no head"};
  const auto json = nlohmann::json::parse(payload.substr(0, end), nullptr, false);
  if (!json.is_object()) return Error{Cause::bad_input, "the head is not a JSON object"};
  const auto kind = uplink_kind_from_name(text(json, "kind"));
  UplinkHead head{whole(json, "epoch"), whole(json, "seq"), kind.value_or(UplinkKind::lost),
                  parse_rfc3339(text(json, "t")).value_or(kNever)};
  if (head.epoch == 0 || head.seq == 0 || !kind || head.made == kNever)
    return Error{Cause::bad_input, "the head lacks epoch, seq, kind or t"};
  return UplinkPayload{head, payload.substr(end + 1)};
}

Result<std::string> unsqueeze_uplink_body(std::string_view squeezed) {
  ByteReader in(squeezed);
  auto json = take_squeezed(in, kMostUnpacked);
  if (!json || !in.at_end()) return Error{Cause::bad_input, "the body cannot be unpacked"};
  return std::move(*json);
}

std::string have_payload(const UplinkHave& have) {
  return fmt::format("{{\"epoch\":{},\"have\":{}}}", have.epoch, have.have);
}

std::optional<UplinkHave> read_have(std::string_view payload) {
  if (payload.size() > kLongestHead) return std::nullopt;
  const auto json = nlohmann::json::parse(payload, nullptr, false);
  if (!json.is_object()) return std::nullopt;
  const UplinkHave have{whole(json, "epoch"), whole(json, "have")};
  if (have.epoch == 0 || have.have == 0) return std::nullopt;
  return have;
}

bool good_site_id(std::string_view site) {
  const auto allowed = [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'; };
  return !site.empty() && site.size() <= kLongestSite && std::ranges::all_of(site, allowed);
}

std::string up_topic(std::string_view site) { return fmt::format("{}{}/up", kTopicRoot, site); }
std::string have_topic(std::string_view site) { return fmt::format("{}{}/down/have", kTopicRoot, site); }
std::string state_topic(std::string_view site) { return fmt::format("{}{}/state", kTopicRoot, site); }

std::optional<std::string> site_of_topic(std::string_view topic, std::string_view rest) {
  if (!topic.starts_with(kTopicRoot)) return std::nullopt;
  topic.remove_prefix(kTopicRoot.size());
  const auto slash = topic.find('/');
  if (slash == std::string_view::npos || topic.substr(slash + 1) != rest) return std::nullopt;
  if (!good_site_id(topic.substr(0, slash))) return std::nullopt;
  return std::string(topic.substr(0, slash));
}

}  // namespace coilward
