#include "daemon/history/row_parts.h"

#include "daemon/history/squeeze.h"

namespace coilward {

std::string pack_parts(std::span<const KeptPart> parts) {
  std::string row;
  put_varint(row, parts.size());
  for (const auto& part : parts) {
    put_varint(row, static_cast<std::uint64_t>(part.channel));
    put_varint(row, part.chunk.size());
  }
  seal(row);
  for (const auto& part : parts) row += part.chunk;
  return row;
}

std::optional<std::vector<RowPart>> take_parts(std::string_view row) {
  ByteReader in(row);
  const auto count = in.varint();
  if (count > row.size()) return std::nullopt;
  std::vector<std::uint64_t> lengths(count);
  std::vector<RowPart> parts(count);
  for (std::size_t i = 0; i < count; ++i) {
    parts[i].channel = static_cast<std::int64_t>(in.varint());
    lengths[i] = in.varint();
  }
  const auto directory = in.position() + sizeof(std::uint32_t);
  in.word<std::uint32_t>();
  if (!in.good() || !unseal(row.substr(0, directory))) return std::nullopt;
  for (std::size_t i = 0; i < count; ++i) parts[i].chunk = in.take(lengths[i]);
  return in.at_end() ? std::optional(std::move(parts)) : std::nullopt;
}

}  // namespace coilward
