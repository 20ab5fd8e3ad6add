#include "plugins/decoders/senml/senml_record.h"

namespace coilward_plugins {
namespace {
constexpr SenmlTrouble kWrongType = "a field is of another type than RFC 8428 gives it";
}

SenmlTrouble SenmlRecord::mark(SenmlLabel label) {
  if (has(label)) return "a field is in one record twice";
  present |= 1U << bit(label);
  return nullptr;
}

SenmlTrouble SenmlRecord::put(SenmlLabel label, std::string_view text) {
  switch (label) {
    case SenmlLabel::bn:
      bn = text;
      break;
    case SenmlLabel::bu:
      bu = text;
      break;
    case SenmlLabel::n:
      n = text;
      break;
    case SenmlLabel::u:
      u = text;
      break;
    case SenmlLabel::vs:
    case SenmlLabel::vd:
      break;
    default:
      return kWrongType;
  }
  return mark(label);
}

SenmlTrouble SenmlRecord::put(SenmlLabel label, double number) {
  switch (label) {
    case SenmlLabel::bver:
      bver = number;
      break;
    case SenmlLabel::bt:
      bt = number;
      break;
    case SenmlLabel::bv:
      bv = number;
      break;
    case SenmlLabel::bs:
      bs = number;
      break;
    case SenmlLabel::v:
      v = number;
      break;
    case SenmlLabel::s:
      s = number;
      break;
    case SenmlLabel::t:
      t = number;
      break;
    case SenmlLabel::ut:
      ut = number;
      break;
    default:
      return kWrongType;
  }
  return mark(label);
}

SenmlTrouble SenmlRecord::put(SenmlLabel label, bool boolean) {
  if (label != SenmlLabel::vb) return kWrongType;
  vb = boolean;
  return mark(label);
}

SenmlTrouble SenmlRecord::put_bytes(SenmlLabel label) {
  return label == SenmlLabel::vd ? mark(label) : kWrongType;
}

}  // namespace coilward_plugins
