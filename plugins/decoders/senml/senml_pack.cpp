#include "plugins/decoders/senml/senml_pack.h"

#include <array>
#include <cmath>

namespace coilward_plugins {
namespace {

constexpr int kVersion = 10;                    // section 4.4: the default, and the newest understood
constexpr double kRelativeBelow = 268435456.0;  // 2^28 s, section 4.5.3
constexpr double kFarthest = 9.0e12;            // s; so that microseconds fit 64 bits

// Section 4.5.1: A-Z a-z 0-9 - : . / _ ; 1 where it may stand first.
constexpr std::array<signed char, 256> name_characters() {
  std::array<signed char, 256> kind{};
  for (auto& k : kind) k = -1;
  for (int c = '0'; c <= '9'; ++c) kind[static_cast<std::size_t>(c)] = 1;
  for (int c = 0; c < 26; ++c)
    kind[static_cast<std::size_t>('a' + c)] = kind[static_cast<std::size_t>('A' + c)] = 1;
  for (char c : {'-', ':', '.', '/', '_'}) kind[static_cast<unsigned char>(c)] = 0;
  return kind;
}
constexpr auto kNameCharacters = name_characters();

bool good_name(std::string_view name) {
  if (name.empty() || kNameCharacters[static_cast<unsigned char>(name[0])] != 1) return false;
  for (unsigned char c : name)
    if (kNameCharacters[c] < 0) return false;
  return true;
}

}  // namespace

void SenmlPack::begin() {
  bn_ = bu_ = {};
  bt_ = bv_ = 0;
  has_bt_ = has_bv_ = has_bs_ = false;
  version_ = 0;
}

// All records of a pack have the same version; the first one settles it (section 4.1).
SenmlTrouble SenmlPack::check_version(const SenmlRecord& record) {
  if (version_ != 0 && !record.has(SenmlLabel::bver)) return nullptr;
  const double claimed = record.has(SenmlLabel::bver) ? record.bver : kVersion;
  if (!(claimed >= 1) || claimed != std::floor(claimed)) return "bver is not a positive whole number";
  if (claimed > kVersion) return "bver is above 10, the newest version understood";
  if (version_ != 0 && static_cast<int>(claimed) != version_) return "records of different bver in one pack";
  version_ = static_cast<int>(claimed);
  return nullptr;
}

SenmlTrouble SenmlPack::take_base(const SenmlRecord& record) {
  if (record.has(SenmlLabel::bn)) bn_ = record.bn;
  if (record.has(SenmlLabel::bu)) bu_ = record.bu;
  if (record.has(SenmlLabel::bt)) bt_ = record.bt, has_bt_ = true;
  if (record.has(SenmlLabel::bv)) bv_ = record.bv, has_bv_ = true;
  if (record.has(SenmlLabel::bs)) has_bs_ = true;
  return check_version(record);
}

SenmlTrouble SenmlPack::resolve_name(const SenmlRecord& record) {
  name_.assign(bn_);
  name_.append(record.n);
  return good_name(name_) ? nullptr
                          : "a name is empty or has characters that RFC 8428 section 4.5.1 does not allow";
}

SenmlTrouble SenmlPack::resolve_time(const SenmlRecord& record, coilward::plugin::Value& value) const {
  if (!has_bt_ && !record.has(SenmlLabel::t)) return nullptr;
  const double seconds = bt_ + record.t;
  if (!(std::fabs(seconds) < kFarthest)) return "a time is out of all range";
  value.time_kind = seconds < kRelativeBelow ? COILWARD_TIME_RELATIVE : COILWARD_TIME_ABSOLUTE;
  value.time_us = std::llround(seconds * 1e6);
  return nullptr;
}

SenmlTrouble SenmlPack::add(const SenmlRecord& record, coilward::plugin::Values& out) {
  using enum SenmlLabel;
  coilward::plugin::Value value;
  if (const auto wrong = take_base(record)) return wrong;
  if (const auto wrong = resolve_name(record)) return wrong;
  if (const auto wrong = resolve_time(record, value)) return wrong;
  const int values = record.has(v) + record.has(vs) + record.has(vb) + record.has(vd);
  if (values > 1) return "a record has more than one value";
  if (record.has(vs) || record.has(vd)) return nullptr;
  const bool summed = record.has(s) || has_bs_;
  if (values == 0 && !has_bv_) return summed ? nullptr : "a record has neither a value nor a sum";
  value.value = record.has(vb) ? record.vb : bv_ + record.v;
  value.unit = record.has(vb) ? "boolean" : record.has(u) ? record.u : bu_;
  value.name = name_;
  out.add(value);
  return nullptr;
}

}  // namespace coilward_plugins
