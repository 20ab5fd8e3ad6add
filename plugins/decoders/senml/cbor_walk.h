// Where a stream of CBOR items stands in an array of maps: which label a value belongs to, when a record
// ends.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

#include "plugins/decoders/senml/senml_pack.h"

namespace coilward_plugins {

// Depth 1 is the pack, depth 2 a record; what lies deeper belongs to a field nobody knows and is passed over.
class CborWalk {
 public:
  CborWalk(std::size_t payload_size, SenmlPack& pack, coilward::plugin::Values& out)
      : payload_size_(payload_size), pack_(pack), out_(out) {}

  bool going() const { return !done_ && !out_.refused(); }
  bool done() const { return done_; }

  void number(double value, std::optional<std::int64_t> whole);
  void text(std::string_view value);
  void boolean(bool value);
  void bytes();
  void other();  // null, undefined
  enum class Shape : std::uint8_t {
    array,
    map,
    pieces
  };  // pieces: a text or byte string of no stated length
  // items: nullopt when of no stated length.
  void open(Shape shape, std::optional<std::uint64_t> items);
  void stop();  // the break that ends what has no stated length

 private:
  static constexpr std::size_t kDeepest = 16;
  struct Level {
    Shape shape;
    bool counted;
    std::uint64_t left;  // items still to come, when counted
    std::uint64_t seen;
  };

  bool at_label() const { return depth_ == 2 && levels_[1].seen % 2 == 0; }
  bool at_value() const { return depth_ == 2 && levels_[1].seen % 2 == 1; }
  bool nothing_but_records();
  template <class Put>
  void value(Put put);
  void item_ended();
  void level_ended();

  std::size_t payload_size_;
  SenmlPack& pack_;
  coilward::plugin::Values& out_;
  std::array<Level, kDeepest> levels_{};
  std::size_t depth_ = 0;
  SenmlRecord record_;
  std::optional<SenmlLabel> label_;  // of the value to come; nullopt: an unknown field
  bool done_ = false;
};

}  // namespace coilward_plugins
