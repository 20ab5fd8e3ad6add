#include "daemon/history/squeeze.h"

#include <zstd.h>

#include <boost/crc.hpp>
#include <memory>

namespace coilward {
namespace {

std::uint32_t crc_of(std::string_view bytes) {
  boost::crc_32_type crc;
  crc.process_bytes(bytes.data(), bytes.size());
  return crc.checksum();
}

// One context a thread: making one costs more than packing a small stream.
ZSTD_CCtx* packer() {
  thread_local const std::unique_ptr<ZSTD_CCtx, decltype(&ZSTD_freeCCtx)> context(ZSTD_createCCtx(),
                                                                                  &ZSTD_freeCCtx);
  return context.get();
}
ZSTD_DCtx* unpacker() {
  thread_local const std::unique_ptr<ZSTD_DCtx, decltype(&ZSTD_freeDCtx)> context(ZSTD_createDCtx(),
                                                                                  &ZSTD_freeDCtx);
  return context.get();
}

// Set anew each time, since the context is used for all of them.
void set_up(ZSTD_CCtx* context, Squeeze how) {
  const bool noise = how == Squeeze::noise;
  ZSTD_CCtx_setParameter(context, ZSTD_c_compressionLevel, how == Squeeze::thorough ? 13 : 3);
  ZSTD_CCtx_setParameter(context, ZSTD_c_strategy, noise ? ZSTD_fast : 0);
  ZSTD_CCtx_setParameter(context, ZSTD_c_minMatch, noise ? 7 : 0);
}

std::string packed(std::string_view stream, Squeeze how) {
  std::string out(ZSTD_compressBound(stream.size()), '\0');
  set_up(packer(), how);
  const auto size = ZSTD_compress2(packer(), out.data(), out.size(), stream.data(), stream.size());
  if (ZSTD_isError(size)) return std::string(stream);
  out.resize(size);
  return out;
}

}  // namespace

// Equal lengths mean "as it is".
void put_squeezed(std::string& out, std::string_view stream, Squeeze how) {
  const std::string small = packed(stream, how);
  const std::string_view best = small.size() < stream.size() ? std::string_view(small) : stream;
  put_varint(out, stream.size());
  put_varint(out, best.size());
  out.append(best);
}

std::optional<std::string> take_squeezed(ByteReader& in, std::size_t most) {
  const auto size = in.varint();
  const auto stored = in.varint();
  if (!in.good() || size > most || stored > size) return std::nullopt;
  const auto bytes = in.take(stored);
  if (!in.good()) return std::nullopt;
  if (stored == size) return std::string(bytes);
  std::string stream(size, '\0');
  const auto got = ZSTD_decompressDCtx(unpacker(), stream.data(), stream.size(), bytes.data(), bytes.size());
  if (ZSTD_isError(got) || got != size) return std::nullopt;
  return stream;
}

void seal(std::string& out) { put_word(out, crc_of(out)); }

std::optional<std::string_view> unseal(std::string_view sealed) {
  if (sealed.size() < sizeof(std::uint32_t)) return std::nullopt;
  const auto inside = sealed.substr(0, sealed.size() - sizeof(std::uint32_t));
  if (ByteReader(sealed.substr(inside.size())).word<std::uint32_t>() != crc_of(inside)) return std::nullopt;
  return inside;
}

}  // namespace coilward
