#include "daemon/delivery/history_batches.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

namespace coilward {

HistoryBatches::HistoryBatches(HistoryFiles files, std::string site, ChannelNames names, std::string exporter,
                               Millis settle)
    : files_(std::move(files)),
      site_(std::move(site)),
      names_(std::move(names)),
      exporter_(std::move(exporter)),
      settle_(settle) {}

Result<bool> HistoryBatches::open() {
  const auto now = which();
  if (open_ && open_->which == now) return true;
  open_.reset();  // not yet, or a damaged one was moved aside
  auto history = HistoryReader::open(files_.history, names_);
  if (!history) return history.error();
  auto state = StateStore::open(files_.state, site_, StoreOptions{.mode = OpenMode::read_only});
  if (!state) return state.error();
  auto marks = Outbox::open(files_.state);
  if (!marks) return marks.error();
  open_.emplace(Open{std::move(*history), std::move(*state), std::move(*marks), now});
  return true;
}

std::array<std::optional<FileIdentity>, 2> HistoryBatches::which() const {
  return {file_identity(files_.history), file_identity(files_.state)};
}

Result<bool> HistoryBatches::find_position(UtcTime now) {
  if (position_ != kNever) return true;
  const auto mark = open_->marks.export_mark(exporter_);
  if (!mark) return mark.error();
  if (const auto known = parse_rfc3339(*mark)) {
    position_ = marked_ = *known;
    return true;
  }
  position_ = UtcTime{now.time_since_epoch() / kStretch * kStretch};
  auto written = write_mark();
  if (!written) position_ = kNever;
  return written;
}

Result<bool> HistoryBatches::write_mark() {
  const auto written = open_->marks.set_export_mark(exporter_, format_rfc3339(position_));
  if (written) marked_ = position_;
  return written;
}

Result<std::optional<ExportBatch>> HistoryBatches::next(UtcTime now) {
  if (auto opened = open(); !opened) return opened.error();
  if (auto found = find_position(now); !found) return found.error();
  for (int i = 0; i < kStretchesAtOnce && position_ + kStretch + settle_ <= now; ++i) {
    auto next = batch(position_, position_ + kStretch);
    if (!next || *next) return next;
    position_ += kStretch;
    if (position_ - marked_ < kMarkEvery) continue;
    if (auto written = write_mark(); !written) return written.error();
  }
  return std::optional<ExportBatch>();
}

Result<bool> HistoryBatches::taken(const ExportBatch& batch) {
  position_ = *parse_rfc3339(batch.mark);
  return write_mark();
}

UtcTime HistoryBatches::next_time(UtcTime now) {
  return position_ == kNever ? now + kStretch : position_ + kStretch + settle_;
}

Result<std::optional<ExportBatch>> HistoryBatches::batch(UtcTime from, UtcTime until) {
  Json measured = Json::array(), ran = Json::array(), found = Json::array();
  if (auto added = add_readings(measured, from, until); !added) return added.error();
  if (auto added = add_runs(ran, from, until); !added) return added.error();
  if (auto added = add_findings(found, from, until); !added) return added.error();
  if (measured.empty() && ran.empty() && found.empty()) return std::optional<ExportBatch>();
  const std::string id = fmt::format("{}.{}.{}", site_, format_compact(from), format_compact(until));
  const Json json = {{"version", 1},
                     {"id", id},
                     {"site", site_},
                     {"from", format_rfc3339(from)},
                     {"until", format_rfc3339(until)},
                     {"readings", std::move(measured)},
                     {"runs", std::move(ran)},
                     {"findings", std::move(found)}};
  return std::optional(
      ExportBatch{id, json.dump(-1, ' ', false, Json::error_handler_t::replace), format_rfc3339(until)});
}

Result<bool> HistoryBatches::add_readings(Json& list, UtcTime from, UtcTime until) {
  const auto channels = open_->history.channels();
  if (!channels) return channels.error();
  for (Channel channel : *channels) {
    const std::string name = names_.text(channel), unit(channel_unit(channel.kind));
    const auto each =
        open_->history.each_reading(channel, from, until, {}, [&](std::span<const Reading> some) {
          for (const auto& reading : some)
            list.push_back({{"time", format_rfc3339(reading.time)},
                            {"channel", name},
                            {"value", number_or_null(reading.value)},
                            {"unit", unit}});
          return true;
        });
    if (!each) return each.error();
  }
  return true;
}

Result<bool> HistoryBatches::add_runs(Json& list, UtcTime from, UtcTime until) {
  const auto started = open_->history.runs(
      {.from = from - kLongestRun, .until = until, .limit = kMostRuns, .latest_first = true});
  if (!started) return started.error();
  for (auto run = started->rbegin(); run != started->rend(); ++run)
    if (run->end >= from && run->end < until) list.push_back(run_to_json(*run));
  return true;
}

Result<bool> HistoryBatches::add_findings(Json& list, UtcTime from, UtcTime until) {
  const auto all = open_->state.findings(true);
  if (!all) return all.error();
  for (auto finding = all->rbegin(); finding != all->rend(); ++finding)
    if (finding->updated >= from && finding->updated < until)
      list.push_back(finding_to_json(*finding, site_));
  return true;
}

}  // namespace coilward
