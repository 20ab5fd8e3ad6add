#include "plugins/decoders/senml/senml_cbor.h"

#include <cbor.h>

#include "plugins/decoders/senml/cbor_walk.h"

namespace coilward_plugins {
namespace {

CborWalk& walk(void* ctx) { return *static_cast<CborWalk*>(ctx); }

template <class Int>
void positive(void* ctx, Int value) {
  const bool small = static_cast<std::uint64_t>(value) < 1000;
  walk(ctx).number(static_cast<double>(value), small ? std::optional<std::int64_t>(value) : std::nullopt);
}

// A negative number is stored as -1 - n.
template <class Int>
void negative(void* ctx, Int n) {
  const bool small = static_cast<std::uint64_t>(n) < 1000;
  walk(ctx).number(-1.0 - static_cast<double>(n),
                   small ? std::optional<std::int64_t>(-1 - static_cast<std::int64_t>(n)) : std::nullopt);
}

template <class Real>
void real(void* ctx, Real value) {
  walk(ctx).number(static_cast<double>(value), std::nullopt);
}

template <CborWalk::Shape shape>
void open_counted(void* ctx, std::size_t items) {
  walk(ctx).open(shape, items);
}

template <CborWalk::Shape shape>
void open_uncounted(void* ctx) {
  walk(ctx).open(shape, std::nullopt);
}

void text(void* ctx, cbor_data data, std::size_t size) {
  walk(ctx).text({reinterpret_cast<const char*>(data), size});
}

cbor_callbacks make_callbacks() {
  using Shape = CborWalk::Shape;
  cbor_callbacks to{};
  to.uint8 = positive<std::uint8_t>;
  to.uint16 = positive<std::uint16_t>;
  to.uint32 = positive<std::uint32_t>;
  to.uint64 = positive<std::uint64_t>;
  to.negint8 = negative<std::uint8_t>;
  to.negint16 = negative<std::uint16_t>;
  to.negint32 = negative<std::uint32_t>;
  to.negint64 = negative<std::uint64_t>;
  to.byte_string_start = to.string_start = open_uncounted<Shape::pieces>;
  to.byte_string = [](void* ctx, cbor_data, std::size_t) { walk(ctx).bytes(); };
  to.string = text;
  to.indef_array_start = open_uncounted<Shape::array>;
  to.array_start = open_counted<Shape::array>;
  to.indef_map_start = open_uncounted<Shape::map>;
  to.map_start = open_counted<Shape::map>;
  to.tag = [](void*, std::uint64_t) {};  // says how to look at the item that follows; the item decides here
  to.float2 = to.float4 = real<float>;
  to.float8 = real<double>;
  to.undefined = to.null = [](void* ctx) { walk(ctx).other(); };
  to.boolean = [](void* ctx, bool value) { walk(ctx).boolean(value); };
  to.indef_break = [](void* ctx) { walk(ctx).stop(); };
  return to;
}

}  // namespace

void decode_senml_cbor(std::string_view payload, SenmlPack& pack, coilward::plugin::Values& out) {
  static const cbor_callbacks callbacks = make_callbacks();
  const auto* bytes = reinterpret_cast<cbor_data>(payload.data());
  CborWalk position(payload.size(), pack, out);
  pack.begin();
  std::size_t at = 0;
  while (position.going()) {
    if (at == payload.size()) return out.refuse("cut short");
    const auto step = cbor_stream_decode(bytes + at, payload.size() - at, &callbacks, &position);
    if (step.status == CBOR_DECODER_NEDATA) return out.refuse("cut short");
    if (step.status == CBOR_DECODER_ERROR) return out.refuse("no CBOR");
    at += step.read;
  }
  if (position.done() && at != payload.size()) out.refuse("more bytes after the pack");
}

}  // namespace coilward_plugins
