// Bytes in and out for the packed forms: LEB128 varints, zigzag, little-endian words. A reader never passes
// its end: it turns bad instead, once and for all.
#pragma once

#include <bit>
#include <cstdint>
#include <cstring>
#include <string>
#include <string_view>

namespace coilward {

inline std::uint64_t zigzag(std::int64_t value) {
  return (static_cast<std::uint64_t>(value) << 1) ^ static_cast<std::uint64_t>(value >> 63);
}
inline std::int64_t unzigzag(std::uint64_t value) {
  return static_cast<std::int64_t>(value >> 1) ^ -static_cast<std::int64_t>(value & 1);
}

inline void put_varint(std::string& out, std::uint64_t value) {
  for (; value >= 0x80; value >>= 7) out.push_back(static_cast<char>(value | 0x80));
  out.push_back(static_cast<char>(value));
}
inline void put_signed(std::string& out, std::int64_t value) { put_varint(out, zigzag(value)); }

template <class T>
void put_word(std::string& out, T value) {
  static_assert(std::endian::native == std::endian::little);
  char bytes[sizeof(T)];
  std::memcpy(bytes, &value, sizeof(T));
  out.append(bytes, sizeof(T));
}

class ByteReader {
 public:
  explicit ByteReader(std::string_view bytes) : bytes_(bytes) {}

  bool good() const { return good_; }
  bool at_end() const { return good_ && position_ == bytes_.size(); }
  std::size_t position() const { return position_; }

  std::uint64_t varint() {
    std::uint64_t value = 0;
    for (int shift = 0; shift < 64; shift += 7) {
      if (position_ >= bytes_.size()) break;
      const auto byte = static_cast<unsigned char>(bytes_[position_++]);
      value |= static_cast<std::uint64_t>(byte & 0x7f) << shift;
      if (byte < 0x80) return value;
    }
    good_ = false;
    return 0;
  }
  std::int64_t signed_varint() { return unzigzag(varint()); }

  template <class T>
  T word() {
    T value{};
    const auto bytes = take(sizeof(T));
    if (good_) std::memcpy(&value, bytes.data(), sizeof(T));
    return value;
  }

  std::string_view take(std::size_t size) {
    if (!good_ || bytes_.size() - position_ < size) {
      good_ = false;
      return {};
    }
    position_ += size;
    return bytes_.substr(position_ - size, size);
  }

 private:
  std::string_view bytes_;
  std::size_t position_ = 0;
  bool good_ = true;
};

}  // namespace coilward
