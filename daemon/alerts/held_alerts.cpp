#include "daemon/alerts/held_alerts.h"

#include <fmt/format.h>

#include <algorithm>

namespace coilward {
namespace {

bool names(const Alert& alert, const std::string& finding) {
  return std::any_of(alert.findings.begin(), alert.findings.end(),
                     [&](const Finding& f) { return f.id == finding; });
}

// FNV-1a, 32 bits: the same on every machine.
std::uint32_t hash_of(std::string_view text, std::uint32_t hash = 2166136261u) {
  for (unsigned char c : text) hash = (hash ^ c) * 16777619u;
  return hash;
}

}  // namespace

bool covers(const Alert& later, const Alert& earlier) {
  if (earlier.trouble) return later.trouble && later.trouble->key == earlier.trouble->key;
  return !earlier.findings.empty() && std::all_of(earlier.findings.begin(), earlier.findings.end(),
                                                  [&](const Finding& f) { return names(later, f.id); });
}

Alert merged_with(const Alert& earlier, Alert later) {
  if (later.trouble && earlier.trouble) later.trouble->still = earlier.trouble->still;
  if (earlier.kind != AlertKind::opened || later.kind == AlertKind::closed) return later;
  later.kind = AlertKind::opened;
  for (auto& detail : later.details) detail.worse = false;
  return later;
}

Alert digest_of(const std::vector<Alert>& held, const std::string& person, UtcTime end) {
  Alert digest;
  std::uint32_t hash = hash_of(person);
  for (const auto& alert : held) {
    hash = hash_of(alert.id, hash);
    digest.severity = std::max(digest.severity, alert.severity);
    digest.findings.insert(digest.findings.end(), alert.findings.begin(), alert.findings.end());
    digest.details.insert(digest.details.end(), alert.details.begin(), alert.details.end());
    digest.draws.insert(digest.draws.end(), alert.draws.begin(), alert.draws.end());
  }
  digest.kind = AlertKind::digest;
  digest.site = held.front().site;
  digest.site_name = held.front().site_name;
  digest.raised = end;
  digest.id = fmt::format("{}.digest.{}-{:08x}", digest.site, format_compact(end), hash);
  return digest;
}

}  // namespace coilward
