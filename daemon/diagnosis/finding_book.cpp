#include "daemon/diagnosis/finding_book.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/diagnosis/wording.h"

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

constexpr std::string_view kNotRepaired = "Not repaired: ";
constexpr std::string_view kStillSeen = " What else spoke for the fault is still seen.";
constexpr std::string_view kOneMore = " Another run has to show the same before it is taken for mended.";

// Of a finding that stays open. but: why, when its zones draw what they should. true: what the runs since the
// repair say has changed.
bool put_trial(Finding& f, const std::optional<RepairProof>& before, const std::optional<RepairTrial>& trial,
               std::string_view but) {
  if (!trial) return false;
  f.repair = trial->told();
  if (trial->proved()) {
    f.repair->proved.reset();
    f.repair->words += but;
  }
  if (trial->failed()) f.summary = std::string(kNotRepaired) + f.repair->words;
  return !before || before->proved != f.repair->proved || before->words != f.repair->words;
}

// A zone that was dead and draws again, but not what it should, is not dead any more.
void rename_by_trial(Finding& f, const RepairTrial& trial) {
  double share = 1;
  for (const ZoneTrial& z : trial.zones)
    if (z.judged && !z.held && measured(z.seen.left_ohms))
      share = std::min(share, z.seen.after_amps / std::sqrt(z.seen.low_amps * z.seen.high_amps));
  if (share == 1) return;
  if (f.fault == Fault::open_circuit) f.fault = Fault::high_resistance;
  if (f.fault == Fault::failed_common) f.fault = Fault::common_high_resistance;
  f.severity = severity_of(f.fault, share);
}

std::string without_stop(std::string words) {
  if (words.ends_with('.')) words.pop_back();
  return words;
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
  const std::optional<RepairProof> before = f.repair;
  const UtcTime opened = f.opened, updated = f.updated;
  f = c;
  f.id = id;
  f.opened = opened;
  f.updated = updated;
  lives_[at].key = claim.key;
  const bool news = put_trial(f, before, lives_[at].trial, kStillSeen);
  if (!changed && !news && std::abs(f.probability - lives_[at].told_probability) < kToldStep) return;
  f.updated = now;
  lives_[at].told_probability = f.probability;
  tell_(f);
}

void FindingBook::close(std::size_t at, const std::string& reason, UtcTime now) {
  Finding finding = open_[at];
  finding.closed = finding.updated = now;
  finding.close_reason = lives_[at].repaired != kNever ? "repaired: " + reason : reason;
  if (const auto& trial = lives_[at].trial; trial && !lives_[at].event) {
    finding.repair = trial->told();
    if (trial->proved()) finding.close_reason = "repaired: " + without_stop(finding.repair->words);
  }
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
    else if (!unproved(i) && over(open_[i].zones))
      close(i, "draws normally again", now);
    else
      say_trial(i, now);
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

void FindingBook::repaired(const RepairTrial& marked, UtcTime now) {
  for (std::size_t i = 0; i < open_.size(); ++i) {
    RepairTrial trial = marked;
    std::erase_if(trial.zones, [&](const ZoneTrial& z) { return !overlap({z.seen.zone}, open_[i].zones); });
    if (trial.zones.empty()) continue;
    lives_[i].repaired = marked.marked;
    if (lives_[i].trial) trial.continue_from(*lives_[i].trial);
    trial.note_fault(open_[i]);
    open_[i].repair = trial.told();
    open_[i].updated = now;
    lives_[i].trial = std::move(trial);
    tell_(Finding(open_[i]));
  }
}

bool FindingBook::tried(const Run& run, const DrawSample& sample) {
  const bool failed = failed_trial(run.zone);
  for (Life& life : lives_)
    if (life.trial) life.trial->judge(run, sample);
  return failed && !failed_trial(run.zone);
}

bool FindingBook::failed_trial(int zone) const {
  return std::ranges::any_of(
      lives_, [&](const Life& life) { return life.trial && !life.event && life.trial->has_failed(zone); });
}

bool FindingBook::unproved(std::size_t at) const { return lives_[at].trial && !lives_[at].trial->proved(); }

// Nothing else explains the zone: what its run after the repair shows is said by that alone.
void FindingBook::say_trial(std::size_t at, UtcTime now) {
  if (!lives_[at].trial) return;
  Finding& f = open_[at];
  const std::optional<RepairProof> before = f.repair;
  if (lives_[at].trial->failed()) rename_by_trial(f, *lives_[at].trial);
  if (!put_trial(f, before, lives_[at].trial, kOneMore)) return;
  f.updated = now;
  tell_(Finding(f));
}

Json FindingBook::save() const {
  Json list = Json::array();
  for (std::size_t i = 0; i < open_.size(); ++i)
    list.push_back({{"finding", finding_to_json(open_[i], "")},
                    {"key", lives_[i].key},
                    {"event", lives_[i].event},
                    {"told_probability", lives_[i].told_probability},
                    {"repaired", to_ms(lives_[i].repaired)},
                    {"trial", lives_[i].trial ? lives_[i].trial->save() : Json(nullptr)}});
  return list;
}

void FindingBook::restore(const Json& saved) {
  open_.clear();
  lives_.clear();
  for (const auto& j : saved) {
    open_.push_back(finding_from_json(j.at("finding")));
    lives_.push_back({j.at("key"), j.at("event"), j.at("told_probability"), from_ms(j.at("repaired"))});
    if (const auto it = j.find("trial"); it != j.end() && it->is_object())
      lives_.back().trial = RepairTrial::restore(*it);
  }
}

}  // namespace coilward
