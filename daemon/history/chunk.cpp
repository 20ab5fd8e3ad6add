#include "daemon/history/chunk.h"

#include <algorithm>
#include <bit>
#include <cmath>

#include "daemon/history/squeeze.h"
#include "daemon/history/value_stream.h"

namespace coilward {
namespace {

constexpr std::uint8_t kChunkForm = 2;    // of this layout
constexpr std::uint8_t kEarlierForm = 1;  // plain differences: the same without the two reaches
// Second byte: bits 0-1 value form, bits 2-3 which readings have an unsure time.
enum class Unsure : std::uint8_t { none, all, some };

// Order of values that also orders NaN and tells 0 from -0.
std::uint64_t value_order(double value) {
  const auto bits = std::bit_cast<std::uint64_t>(value);
  return bits >> 63 ? ~bits : bits | (1ull << 63);
}

Error damaged(const char* what) { return {Cause::bad_input, std::string("damaged chunk: ") + what}; }

Unsure unsure_of(std::span<const Reading> readings) {
  const auto count = std::count_if(readings.begin(), readings.end(), [](auto& r) { return r.time_unsure; });
  if (count == 0) return Unsure::none;
  return count == static_cast<std::ptrdiff_t>(readings.size()) ? Unsure::all : Unsure::some;
}

// Lengths of stretches, sure first.
std::string unsure_stretches(std::span<const Reading> readings) {
  std::string out;
  bool unsure = false;
  std::uint64_t length = 0;
  for (const auto& reading : readings) {
    if (reading.time_unsure != unsure) {
      put_varint(out, length);
      unsure = !unsure;
      length = 0;
    }
    ++length;
  }
  put_varint(out, length);
  return out;
}

bool apply_stretches(std::string_view stretches, std::span<Reading> readings) {
  ByteReader in(stretches);
  std::size_t at = 0;
  for (bool unsure = false; at < readings.size() && in.good(); unsure = !unsure) {
    const auto length = in.varint();
    if (length > readings.size() - at) return false;
    for (std::uint64_t i = 0; i < length; ++i) readings[at++].time_unsure = unsure;
  }
  return in.at_end();
}

// The interval that the times are told against. The median: one gap must not shift all the rest.
std::int64_t usual_interval(std::span<const Reading> readings) {
  if (readings.size() < 2) return 0;
  std::vector<std::int64_t> intervals(readings.size() - 1);
  for (std::size_t i = 1; i < readings.size(); ++i)
    intervals[i - 1] = to_ms(readings[i].time) - to_ms(readings[i - 1].time);
  const auto middle = intervals.begin() + static_cast<std::ptrdiff_t>(intervals.size() / 2);
  std::nth_element(intervals.begin(), middle, intervals.end());
  return *middle;
}

// The even beat that begins with the first time. Unsigned: a damaged chunk must wrap, not overflow.
std::uint64_t beat(std::int64_t start, std::int64_t interval, std::size_t index) {
  return static_cast<std::uint64_t>(start) + static_cast<std::uint64_t>(interval) * index;
}

// How far each time but the first is off it.
std::vector<std::int64_t> off_beat(std::span<const Reading> readings, std::int64_t interval) {
  std::vector<std::int64_t> off(readings.size() - 1);
  const auto start = to_ms(readings[0].time);
  for (std::size_t i = 1; i < readings.size(); ++i)
    off[i - 1] = static_cast<std::int64_t>(static_cast<std::uint64_t>(to_ms(readings[i].time)) -
                                           beat(start, interval, i));
  return off;
}

bool put_times(std::string_view bytes, std::int64_t start, std::int64_t interval, Reach reach,
               std::span<Reading> readings) {
  const auto off = take_residuals(bytes, readings.size() - 1, reach);
  if (!off) return false;
  readings[0].time = from_ms(start);
  for (std::size_t i = 1; i < readings.size(); ++i)
    readings[i].time = from_ms(
        static_cast<std::int64_t>(beat(start, interval, i) + static_cast<std::uint64_t>((*off)[i - 1])));
  return true;
}

struct Head {
  ChunkHeader header;
  ValueForm form = ValueForm::words;
  std::uint8_t digits = 0;
  Unsure unsure = Unsure::none;
  std::uint8_t layout = kChunkForm;
  Reach time_reach = 0, value_reach = 0;
  std::int64_t start = 0;  // time of the first in order
  std::int64_t interval = 0;
};

std::optional<Head> take_head(ByteReader& in) {
  Head head;
  head.layout = in.word<std::uint8_t>();
  const auto kinds = in.word<std::uint8_t>();
  head.form = static_cast<ValueForm>(kinds & 3);
  head.unsure = static_cast<Unsure>(kinds >> 2 & 3);
  head.digits = in.word<std::uint8_t>();
  if (head.layout == kChunkForm) {
    head.time_reach = in.word<Reach>();
    head.value_reach = in.word<Reach>();
  }
  const auto count = in.varint();
  head.start = in.signed_varint();
  const auto before = in.varint(), after = in.varint();
  head.interval = in.signed_varint();
  head.header.lowest = take_value(in, head.form, head.digits);
  head.header.highest = take_value(in, head.form, head.digits);
  const bool known = (head.layout == kChunkForm || head.layout == kEarlierForm) &&
                     head.form <= ValueForm::words && head.unsure <= Unsure::some;
  if (!in.good() || !known || count == 0 || count > kMostReadingsInChunk) return std::nullopt;
  head.header.count = static_cast<std::uint32_t>(count);
  head.header.first = from_ms(static_cast<std::int64_t>(static_cast<std::uint64_t>(head.start) - before));
  head.header.last = from_ms(static_cast<std::int64_t>(static_cast<std::uint64_t>(head.start) + after));
  return head;
}

void put_head(std::string& out, std::span<const Reading> readings, const ValueStream& values,
              std::int64_t interval, Reach time_reach) {
  double lowest = kNotMeasured, highest = kNotMeasured;
  auto first = readings[0].time, last = first;
  for (const auto& reading : readings) {
    first = std::min(first, reading.time);
    last = std::max(last, reading.time);
    lowest = std::fmin(lowest, reading.value);
    highest = std::fmax(highest, reading.value);
  }
  put_word(out, kChunkForm);
  put_word(out, static_cast<std::uint8_t>(static_cast<int>(values.form) |
                                          static_cast<int>(unsure_of(readings)) << 2));
  put_word(out, values.digits);
  put_word(out, time_reach);
  put_word(out, values.reach);
  put_varint(out, readings.size());
  put_signed(out, to_ms(readings[0].time));
  put_varint(out, static_cast<std::uint64_t>((readings[0].time - first).count()));
  put_varint(out, static_cast<std::uint64_t>((last - readings[0].time).count()));
  put_signed(out, interval);
  put_value(out, values.form, values.digits, lowest);
  put_value(out, values.form, values.digits, highest);
}

}  // namespace

void sort_and_unite(std::vector<Reading>& readings) {
  const auto before = [](const Reading& a, const Reading& b) {
    if (a.time != b.time) return a.time < b.time;
    if (const auto va = value_order(a.value), vb = value_order(b.value); va != vb) return va < vb;
    return a.time_unsure < b.time_unsure;
  };
  const auto same = [](const Reading& a, const Reading& b) {
    return a.time == b.time && value_order(a.value) == value_order(b.value);
  };
  if (!std::is_sorted(readings.begin(), readings.end(), before))
    std::sort(readings.begin(), readings.end(), before);
  readings.erase(std::unique(readings.begin(), readings.end(), same), readings.end());
}

std::string pack_chunk(std::span<const Reading> readings, Packing packing) {
  const auto how = packing == Packing::thorough ? Squeeze::thorough : Squeeze::noise;
  std::vector<double> numbers(readings.size());
  std::transform(readings.begin(), readings.end(), numbers.begin(), [](auto& r) { return r.value; });
  const ValueStream values = put_values(numbers, Against::the_best);
  const auto interval = usual_interval(readings);
  const auto off = off_beat(readings, interval);
  const Reach reach = best_reach(off);
  std::string out;
  put_head(out, readings, values, interval, reach);
  put_squeezed(out, put_residuals(off, reach), how);
  put_squeezed(out, values.bytes, how);
  if (unsure_of(readings) == Unsure::some) put_squeezed(out, unsure_stretches(readings), how);
  seal(out);
  return out;
}

Result<ChunkHeader> read_chunk_header(std::string_view chunk) {
  const auto inside = unseal(chunk);
  if (!inside) return damaged("checksum");
  ByteReader in(*inside);
  const auto head = take_head(in);
  if (!head) return damaged("header");
  return head->header;
}

Result<ChunkHeader> unpack_chunk(std::string_view chunk, Channel channel, std::vector<Reading>& readings) {
  const auto inside = unseal(chunk);
  if (!inside) return damaged("checksum");
  ByteReader in(*inside);
  const auto head = take_head(in);
  if (!head) return damaged("header");
  const std::size_t count = head->header.count;
  const auto times = take_squeezed(in, most_value_bytes(count));
  auto bytes = times ? take_squeezed(in, most_value_bytes(count)) : std::nullopt;
  if (!bytes) return damaged("streams");
  const auto values = take_values({head->form, head->digits, head->value_reach, std::move(*bytes)}, count);
  std::vector<Reading> found(count, Reading{channel, kNever, 0, head->unsure == Unsure::all});
  if (!values || !put_times(*times, head->start, head->interval, head->time_reach, found))
    return damaged("readings");
  for (std::size_t i = 0; i < count; ++i) found[i].value = (*values)[i];
  if (head->unsure == Unsure::some) {
    const auto stretches = take_squeezed(in, most_value_bytes(count));
    if (!stretches || !apply_stretches(*stretches, found)) return damaged("flags");
  }
  if (!in.at_end()) return damaged("length");
  readings.insert(readings.end(), found.begin(), found.end());
  return head->header;
}

}  // namespace coilward
