// Applies base fields, record by record, and gives the resolved values (RFC 8428 section 4.6).
#pragma once

#include <string>
#include <string_view>

#include "plugins/decoders/senml/senml_record.h"
#include "plugins/plugin.hpp"

namespace coilward_plugins {

// A record with a sum alone, a text or data gives nothing: it is no reading of a channel. A pack with one
// record that breaks the standard is refused whole, as a half-understood one may be wrong in the other half
// too.
class SenmlPack {
 public:
  void begin();
  // Null when fine. Values' texts are good during add only.
  SenmlTrouble add(const SenmlRecord& record, coilward::plugin::Values& out);

 private:
  SenmlTrouble take_base(const SenmlRecord& record);
  SenmlTrouble check_version(const SenmlRecord& record);
  SenmlTrouble resolve_name(const SenmlRecord& record);
  SenmlTrouble resolve_time(const SenmlRecord& record, coilward::plugin::Value& value) const;

  std::string_view bn_, bu_;
  double bt_ = 0, bv_ = 0;
  bool has_bt_ = false, has_bv_ = false, has_bs_ = false;
  int version_ = 0;   // 0: no record yet
  std::string name_;  // keeps its memory from pack to pack
};

}  // namespace coilward_plugins
