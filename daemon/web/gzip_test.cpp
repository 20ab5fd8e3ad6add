#include "daemon/web/gzip.h"

#include <gtest/gtest.h>

#include <boost/beast/zlib/inflate_stream.hpp>
#include <boost/crc.hpp>
#include <random>

namespace coilward {
namespace {

namespace zlib = boost::beast::zlib;

// What gzip(1) would give: the head is skipped, sum and size at the end are checked.
std::string unpacked(const std::string& packed) {
  zlib::inflate_stream inflate;
  std::string out(1 << 20, '\0');
  zlib::z_params params;
  params.next_in = packed.data() + 10;
  params.avail_in = packed.size() - 18;
  params.next_out = out.data();
  params.avail_out = out.size();
  boost::beast::error_code error;
  inflate.write(params, zlib::Flush::finish, error);
  out.resize(params.total_out);
  boost::crc_32_type crc;
  crc.process_bytes(out.data(), out.size());
  const auto number = [&](std::size_t at) {
    std::uint32_t value = 0;
    for (std::size_t i = 4; i-- > 0;) value = value << 8 | static_cast<unsigned char>(packed[at + i]);
    return value;
  };
  EXPECT_EQ(number(packed.size() - 8), crc.checksum());
  EXPECT_EQ(number(packed.size() - 4), out.size());
  return out;
}

TEST(Gzip, comes_back_as_it_was) {
  std::mt19937 random(3);
  std::string noise;
  for (int i = 0; i < 100'000; ++i) noise.push_back(static_cast<char>(random()));
  for (const std::string& text : {std::string("a"), std::string(200'000, 'x'), noise})
    EXPECT_EQ(unpacked(gzip(text)), text);
  EXPECT_LT(gzip(std::string(200'000, 'x')).size(), 1000u);
}

TEST(Gzip, pieces_are_one_stream) {
  Gzip stream;
  std::string packed, whole;
  for (int i = 0; i < 50; ++i) {
    const std::string piece(static_cast<std::size_t>(i * 37), static_cast<char>('a' + i % 26));
    whole += piece;
    packed += stream.add(piece);
  }
  packed += stream.finish();
  EXPECT_EQ(unpacked(packed), whole);
}

TEST(Gzip, is_sent_to_those_who_take_it) {
  for (const char* yes : {"gzip", "gzip, deflate, br", "deflate,gzip;q=0.5", "br, gzip;q=1.0"})
    EXPECT_TRUE(takes_gzip(yes)) << yes;
  for (const char* no : {"", "br", "gzip;q=0", "gzip;q=0.0", "deflate, x-other"})
    EXPECT_FALSE(takes_gzip(no)) << no;
}

}  // namespace
}  // namespace coilward
