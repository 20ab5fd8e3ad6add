// History as text for other programs: CSV (RFC 4180) and JSON lines. Times are ISO 8601 in UTC with a column
// of Unix seconds beside; units stand in the header. Text cells that a spreadsheet would take for a formula
// are made safe with a leading apostrophe.
//
// The writers append to a string that the caller sends on and clears: nothing is held.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "daemon/history/channel_names.h"
#include "daemon/history/history_reader.h"
#include "daemon/pipeline.h"

namespace coilward {

enum class ExportForm : std::uint8_t {
  csv,         // RFC 4180, comma, decimal point, no byte-order mark
  csv_excel,   // byte-order mark, semicolon, decimal comma
  json_lines,  // one object a line
};

// Header (and byte-order mark) of each kind; empty for JSON lines.
std::string readings_header(ExportForm form);
std::string buckets_header(ExportForm form);
std::string runs_header(ExportForm form);

// time, unix_s, channel, value, unit, time_unsure
void append_readings(std::string& out, ExportForm form, std::span<const Reading> readings,
                     const ChannelNames& names);
// time, unix_s, until, channel, count, lowest, mean, highest, unit
void append_buckets(std::string& out, ExportForm form, std::span<const Bucket> buckets, Channel channel,
                    const ChannelNames& names);
// A run's summary; JSON lines are run_to_json as it is.
void append_runs(std::string& out, ExportForm form, std::span<const Run> runs);

// One CSV cell: quoted where RFC 4180 asks for it, formula-safe. For others who write CSV.
std::string csv_cell(std::string_view text, char separator = ',');
// Shortest decimal that reads back as the same double; empty for NaN.
std::string csv_number(double value, char decimal = '.');

}  // namespace coilward
