#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <optional>

#include "daemon/web/api_route.h"
#include "daemon/web/history_stream.h"
#include "daemon/web/query.h"
#include "daemon/web/site_json.h"

namespace coilward {
namespace {

Result<TimeSpan> span_of(const Call& call) {
  TimeSpan span;
  const std::string &zone = call.site.config().site.timezone, since = call.query("since"),
                    until = call.query("until");
  if (!since.empty()) {
    const auto time = parse_when(since, call.site.now(), zone);
    if (!time) return time.error();
    span.since = *time;
  }
  if (!until.empty()) {
    const auto time = parse_when(until, call.site.now(), zone);
    if (!time) return time.error();
    span.until = *time;
  }
  if (span.since < span.until) return span;
  return Error{Cause::bad_input, fmt::format("since ({}) is not before until ({})", since, until)};
}

// 0: as recorded.
Result<double> step_of(const Call& call) {
  const std::string every = call.query("every");
  if (every.empty()) return 0.0;
  const auto step = parse_duration(every);
  if (step && step->count() > 0) return static_cast<double>(step->count()) / 1000;
  return Error{Cause::bad_input,
               fmt::format("every is '{}': allowed is a length such as 30s, 5m, 1h, 1d", every)};
}

// `before`: of the enclosing object, with the name of its list.
Result<StreamForm> form_of(const Call& call, const std::string& enclosing, std::string_view list) {
  const std::string format = call.query("format");
  if (format.empty() || format == "json") {
    std::string before = enclosing.substr(0, enclosing.size() - 1);
    before += fmt::format("{}\"{}\":[", before.size() > 1 ? "," : "", list);
    return StreamForm{ExportForm::json_lines, true, before};
  }
  if (format == "jsonl") return StreamForm{ExportForm::json_lines};
  if (format == "csv") return StreamForm{ExportForm::csv};
  if (format == "csv-excel") return StreamForm{ExportForm::csv_excel};
  return Error{Cause::bad_input,
               fmt::format("format is '{}': allowed are json, jsonl, csv and csv-excel", format)};
}

ApiResponse streamed(Result<BodyPieces> pieces, const StreamForm& form, std::string name) {
  if (!pieces) return problem(pieces.error());
  ApiResponse response;
  const bool json = form.form == ExportForm::json_lines;
  response.content_type = !json           ? "text/csv; charset=utf-8"
                          : form.enclosed ? "application/json"
                                          : "application/x-ndjson";
  response.pieces = std::move(*pieces);
  if (!json) response.file_name = name + ".csv";
  return response;
}

ApiResponse channel_history(const Call& call, Channel channel, const std::string& text) {
  const auto span = span_of(call);
  if (!span) return problem(span.error());
  const auto every = step_of(call);
  if (!every) return problem(every.error());
  const Json enclosing = {{"channel", text}, {"unit", channel_unit(channel.kind)}};
  const auto form = form_of(call, enclosing.dump(), *every > 0 ? "buckets" : "readings");
  if (!form) return problem(form.error());
  return streamed(*every > 0 ? stream_buckets(call.site, channel, *span, *every, *form)
                             : stream_readings(call.site, {channel}, *span, *form),
                  *form, "history");
}

ApiResponse export_readings(const Call& call, TimeSpan span) {
  const auto form = form_of(call, "{}", "readings");
  if (!form) return problem(form.error());
  const auto reader = call.site.open_history();
  if (!reader) return problem(reader.error());
  const auto channels = reader->channels();
  if (!channels) return problem(channels.error());
  return streamed(stream_readings(call.site, *channels, span, *form), *form, "readings");
}

ApiResponse export_runs(const Call& call, TimeSpan span, int zone) {
  const auto form = form_of(call, "{}", "runs");
  if (!form) return problem(form.error());
  return streamed(stream_runs(call.site, zone, span, *form), *form, "runs");
}

std::string finding_csv(const Finding& f, ExportForm form) {
  const char separator = form == ExportForm::csv_excel ? ';' : ',';
  std::string zones;
  for (const int zone : f.zones) zones += (zones.empty() ? "" : " ") + std::to_string(zone);
  const std::string cells[] = {format_rfc3339(f.opened),
                               f.closed == kNever ? "" : format_rfc3339(f.closed),
                               f.id,
                               std::string(fault_name(f.fault)),
                               zones,
                               std::string(severity_name(f.severity)),
                               csv_number(f.probability, form == ExportForm::csv_excel ? ',' : '.'),
                               f.summary,
                               f.close_reason};
  std::string line;
  for (const std::string& cell : cells)
    line += (line.empty() ? std::string() : std::string(1, separator)) + csv_cell(cell, separator);
  return line + "\r\n";
}

std::string finding_header(ExportForm form) {
  std::string header = "opened,closed,id,fault,zones,severity,probability,summary,close_reason\r\n";
  if (form != ExportForm::csv_excel) return header;
  std::replace(header.begin(), header.end(), ',', ';');
  return "\xEF\xBB\xBF" + header;
}

// Few enough (at most 1000) to be made at once.
ApiResponse export_findings(const Call& call, TimeSpan span) {
  const auto form = form_of(call, "{}", "findings");
  if (!form) return problem(form.error());
  auto found = call.site.findings(true);
  if (!found) return problem(found.error());
  std::reverse(found->begin(), found->end());
  std::string body = form->enclosed                         ? form->before
                     : form->form == ExportForm::json_lines ? ""
                                                            : finding_header(form->form);
  bool any = false;
  for (const Finding& finding : *found) {
    if (finding.opened < span.since || finding.opened >= span.until) continue;
    if (form->form != ExportForm::json_lines)
      body += finding_csv(finding, form->form);
    else
      body += (form->enclosed && any ? "," : "") +
              site_finding_to_json(finding, call.site).dump(-1, ' ', false, Json::error_handler_t::replace) +
              "\n";
    any = true;
  }
  ApiResponse response = streamed(BodyPieces(), *form, "findings");
  response.body = body + (form->enclosed ? "]}\n" : "");
  return response;
}

}  // namespace

ApiResponse get_zone_history(const Call& call) {
  const auto zone = parse_number(call.args[0], 0, kMaxZone, "zone");
  if (!zone) return problem(zone.error());
  const Config& config = call.site.config();
  if (!config.zone(*zone)) return problem({Cause::not_found, fmt::format("the site has no zone {}", *zone)});
  const bool master = *zone == kMasterZone;
  const Channel channel{master ? ChannelKind::master_current : ChannelKind::zone_current,
                        static_cast<std::uint8_t>(*zone)};
  return channel_history(call, channel, channel_text(channel, config));
}

ApiResponse get_history(const Call& call) {
  const std::string text = call.query("channel");
  const auto channel = parse_channel(text, call.site.config());
  if (!channel)
    return problem(
        {Cause::bad_input, fmt::format("channel is '{}': allowed are zone/4/current and the like", text)});
  return channel_history(call, *channel, text);
}

ApiResponse get_runs(const Call& call) {
  const auto span = span_of(call);
  if (!span) return problem(span.error());
  if (call.query("zone").empty()) return export_runs(call, *span, -1);
  const auto zone = parse_number(call.query("zone"), 0, kMaxZone, "zone");
  return zone ? export_runs(call, *span, *zone) : problem(zone.error());
}

ApiResponse get_export(const Call& call) {
  const auto span = span_of(call);
  if (!span) return problem(span.error());
  const std::string what = call.query("what");
  if (what == "readings") return export_readings(call, *span);
  if (what == "runs") return export_runs(call, *span, -1);
  if (what == "findings") return export_findings(call, *span);
  return problem(
      {Cause::bad_input, fmt::format("what is '{}': allowed are readings, runs and findings", what)});
}

}  // namespace coilward
