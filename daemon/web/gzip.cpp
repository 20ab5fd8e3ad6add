#include "daemon/web/gzip.h"

#include <algorithm>
#include <boost/beast/zlib/deflate_stream.hpp>
#include <boost/crc.hpp>
#include <cstdint>
#include <optional>

namespace coilward {
namespace {

namespace zlib = boost::beast::zlib;

// Magic number, deflate, no extras, no time, unknown system.
constexpr std::string_view kGzipHead("\x1f\x8b\x08\0\0\0\0\0\0\xff", 10);
constexpr int kLevel = 6, kWindowBits = 15, kMemoryLevel = 8;  // zlib's own defaults

void append_little_endian(std::string& out, std::uint32_t value) {
  for (int shift = 0; shift < 32; shift += 8) out.push_back(static_cast<char>(value >> shift & 0xff));
}

// The q-value of one element is zero.
bool refused_outright(std::string_view element) {
  const auto q = element.find("q=0");
  return q != std::string_view::npos && element.find_first_of("123456789", q + 3) == std::string_view::npos;
}

}  // namespace

class Gzip::Impl {
 public:
  Impl() { deflate_.reset(kLevel, kWindowBits, kMemoryLevel, zlib::Strategy::normal); }

  std::string write(std::string_view piece, zlib::Flush flush) {
    crc_.process_bytes(piece.data(), piece.size());
    size_ += static_cast<std::uint32_t>(piece.size());
    std::string out(std::exchange(begun_, true) ? std::string_view() : kGzipHead);
    zlib::z_params params;
    params.next_in = piece.data();
    params.avail_in = piece.size();
    char block[16384];
    do {
      params.next_out = block;
      params.avail_out = sizeof block;
      boost::beast::error_code error;  // need_buffers when all is done: no failure
      deflate_.write(params, flush, error);
      out.append(block, sizeof block - params.avail_out);
    } while (params.avail_out == 0);
    return out;
  }

  std::string finish() {
    std::string out = write({}, zlib::Flush::finish);
    append_little_endian(out, crc_.checksum());
    append_little_endian(out, size_);
    return out;
  }

 private:
  zlib::deflate_stream deflate_;
  boost::crc_32_type crc_;
  std::uint32_t size_ = 0;
  bool begun_ = false;
};

Gzip::Gzip() : impl_(std::make_unique<Impl>()) {}
Gzip::~Gzip() = default;
std::string Gzip::add(std::string_view piece) { return impl_->write(piece, zlib::Flush::sync); }
std::string Gzip::finish() { return impl_->finish(); }

std::string gzip(std::string_view text) {
  Gzip stream;
  std::string out = stream.add(text);
  return out + stream.finish();
}

bool takes_gzip(std::string_view accept_encoding) {
  while (!accept_encoding.empty()) {
    const std::string_view element = accept_encoding.substr(0, accept_encoding.find(','));
    accept_encoding.remove_prefix(std::min(element.size() + 1, accept_encoding.size()));
    const auto name = element.find("gzip");
    if (name != std::string_view::npos && element.find_first_not_of(" \t") == name)
      return !refused_outright(element.substr(name));
  }
  return false;
}

}  // namespace coilward
