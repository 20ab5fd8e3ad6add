#include "plugins/decoders/senml/cbor_walk.h"

namespace coilward_plugins {

// Level by level: above a record only an array of maps may stand.
bool CborWalk::nothing_but_records() {
  if (depth_ == 0) out_.refuse("a SenML pack is an array of records");
  if (depth_ == 1) out_.refuse("a record is not a map");
  return depth_ < 2;
}

template <class Put>
void CborWalk::value(Put put) {
  if (nothing_but_records()) return;
  if (at_label()) return out_.refuse("a field's label is neither a number nor text");
  if (at_value() && label_)
    if (const auto wrong = put(*label_)) return out_.refuse(wrong);
  item_ended();
}

void CborWalk::number(double number, std::optional<std::int64_t> whole) {
  if (!at_label() || !whole) return value([&](SenmlLabel label) { return record_.put(label, number); });
  label_.reset();
  if (*whole >= kLowestLabel && *whole <= kHighestLabel) label_ = static_cast<SenmlLabel>(*whole);
  item_ended();
}

void CborWalk::text(std::string_view text) {
  if (!at_label()) return value([&](SenmlLabel label) { return record_.put(label, text); });
  if (text.ends_with('_'))
    return out_.refuse(
        "a field whose name ends in '_' must be understood, and is not (RFC 8428 section 4.4)");
  label_.reset();
  item_ended();
}

void CborWalk::boolean(bool boolean) {
  value([&](SenmlLabel label) { return record_.put(label, boolean); });
}

void CborWalk::bytes() {
  value([&](SenmlLabel label) { return record_.put_bytes(label); });
}

void CborWalk::other() {
  value([](SenmlLabel) { return "a field is null or undefined"; });
}

void CborWalk::open(Shape shape, std::optional<std::uint64_t> items) {
  if (depth_ < 2 && shape != (depth_ == 0 ? Shape::array : Shape::map)) {
    nothing_but_records();
    return;
  }
  if (at_label() || (at_value() && label_)) return out_.refuse("a field is a list, a map, or text in pieces");
  if (depth_ == kDeepest) return out_.refuse("nested deeper than 16 levels");
  // Each item takes a byte at least, so a larger count is a lie.
  if (items && *items > payload_size_) return out_.refuse("cut short");
  levels_[depth_++] = {shape, items.has_value(), items.value_or(0) * (shape == Shape::map ? 2 : 1), 0};
  if (depth_ == 2) record_ = SenmlRecord();
  if (items && *items == 0) level_ended();
}

void CborWalk::stop() {
  if (depth_ == 0 || levels_[depth_ - 1].counted) return out_.refuse("a break where nothing ends");
  if (levels_[depth_ - 1].shape == Shape::map && levels_[depth_ - 1].seen % 2)
    return out_.refuse("a label without a value");
  level_ended();
}

void CborWalk::item_ended() {
  if (depth_ == 0) {
    done_ = true;
    return;
  }
  Level& level = levels_[depth_ - 1];
  ++level.seen;
  if (level.counted && --level.left == 0) level_ended();
}

void CborWalk::level_ended() {
  if (depth_ == 2)
    if (const auto wrong = pack_.add(record_, out_)) return out_.refuse(wrong);
  --depth_;
  item_ended();
}

}  // namespace coilward_plugins
