#include "daemon/diagnosis/finding_book.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// Contract section 7: a finding is told again when its probability moves by this much.
constexpr double kToldStep = 0.05;

bool overlap(const std::vector<int>& a, const std::vector<int>& b) {
  return std::any_of(a.begin(), a.end(), [&](int z) { return std::find(b.begin(), b.end(), z) != b.end(); });
}

bool about(const Claim& claim, const std::vector<int>& zones) {
  return overlap(claim.content.zones, zones) ||
         (claim.master && std::find(zones.begin(), zones.end(), kMasterZone) != zones.end());
}

bool claimed(const std::vector<Claim>& claims, const std::string& key) {
  return std::any_of(claims.begin(), claims.end(), [&](const Claim& c) { return c.key == key; });
}

}  // namespace

int FindingBook::find(const std::string& key) const {
  for (std::size_t i = 0; i < lives_.size(); ++i)
    if (lives_[i].key == key) return static_cast<int>(i);
  return -1;
}

bool FindingBook::is_open(const std::string& key) const { return find(key) >= 0; }

// The oldest open finding about the same outputs that is not claimed by itself any more: the same fault,
// better known.
int FindingBook::heir_of(const Claim& claim, const std::vector<Claim>& claims) const {
  for (std::size_t i = 0; i < open_.size(); ++i)
    if (!lives_[i].event && !claimed(claims, lives_[i].key) && about(claim, open_[i].zones))
      return static_cast<int>(i);
  return -1;
}

void FindingBook::open_new(const Claim& claim, bool event, UtcTime now) {
  Finding finding = claim.content;
  finding.id = fmt::format("{}-{}-{}", format_compact(now), claim.subject, fault_name(finding.fault));
  const auto taken = [&] {
    return std::any_of(open_.begin(), open_.end(), [&](const Finding& f) { return f.id == finding.id; });
  };
  for (int next = 2; taken(); ++next)
    finding.id =
        fmt::format("{}-{}-{}-{}", format_compact(now), claim.subject, fault_name(finding.fault), next);
  finding.opened = finding.updated = now;
  open_.push_back(finding);
  lives_.push_back({claim.key, event, finding.probability, kNever});
  tell_(finding);
}

void FindingBook::update(std::size_t at, const Claim& claim, UtcTime now) {
  Finding& f = open_[at];
  const Finding& c = claim.content;
  const bool changed = f.fault != c.fault || f.zones != c.zones || f.severity != c.severity;
  const std::string id = f.id;
  const UtcTime opened = f.opened, updated = f.updated;
  f = c;
  f.id = id;
  f.opened = opened;
  f.updated = updated;
  lives_[at].key = claim.key;
  if (!changed && std::abs(f.probability - lives_[at].told_probability) < kToldStep) return;
  f.updated = now;
  lives_[at].told_probability = f.probability;
  tell_(f);
}

void FindingBook::close(std::size_t at, const std::string& reason, UtcTime now) {
  Finding finding = open_[at];
  finding.closed = finding.updated = now;
  finding.close_reason = lives_[at].repaired != kNever ? "repaired: " + reason : reason;
  open_.erase(open_.begin() + static_cast<std::ptrdiff_t>(at));
  lives_.erase(lives_.begin() + static_cast<std::ptrdiff_t>(at));
  tell_(finding);
}

void FindingBook::conclude(const std::vector<Claim>& claims, UtcTime now,
                           const std::function<bool(const std::vector<int>&)>& over) {
  for (const auto& claim : claims) {
    int at = find(claim.key);
    if (at < 0) at = heir_of(claim, claims);
    if (at < 0)
      open_new(claim, false, now);
    else
      update(static_cast<std::size_t>(at), claim, now);
  }
  for (std::size_t i = open_.size(); i-- > 0;) {
    if (lives_[i].event || claimed(claims, lives_[i].key)) continue;
    const auto cover =
        std::find_if(claims.begin(), claims.end(), [&](const Claim& c) { return about(c, open_[i].zones); });
    if (cover != claims.end())
      close(i, "one cause with " + open_[static_cast<std::size_t>(find(cover->key))].id, now);
    else if (over(open_[i].zones))
      close(i, "draws normally again", now);
  }
}

void FindingBook::raise(const Claim& claim, UtcTime now) {
  const int at = find(claim.key);
  if (at < 0)
    open_new(claim, true, now);
  else
    update(static_cast<std::size_t>(at), claim, now);
}

void FindingBook::clear(const std::string& key, const std::string& reason, UtcTime now) {
  if (const int at = find(key); at >= 0) close(static_cast<std::size_t>(at), reason, now);
}

void FindingBook::repaired(const std::vector<int>& zones, UtcTime when) {
  for (std::size_t i = 0; i < open_.size(); ++i)
    if (overlap(open_[i].zones, zones)) lives_[i].repaired = when;
}

Json FindingBook::save() const {
  Json list = Json::array();
  for (std::size_t i = 0; i < open_.size(); ++i)
    list.push_back({{"finding", finding_to_json(open_[i], "")},
                    {"key", lives_[i].key},
                    {"event", lives_[i].event},
                    {"told_probability", lives_[i].told_probability},
                    {"repaired", to_ms(lives_[i].repaired)}});
  return list;
}

void FindingBook::restore(const Json& saved) {
  open_.clear();
  lives_.clear();
  for (const auto& j : saved) {
    open_.push_back(finding_from_json(j.at("finding")));
    lives_.push_back({j.at("key"), j.at("event"), j.at("told_probability"), from_ms(j.at("repaired"))});
  }
}

}  // namespace coilward
