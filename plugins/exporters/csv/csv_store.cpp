#include "plugins/exporters/csv/csv_store.h"

#include <algorithm>
#include <stdexcept>

#include "plugins/exporters/csv/csv_disk.h"
#include "plugins/exporters/csv/csv_rows.h"

namespace coilward_plugins {
namespace {

using Json = nlohmann::json;

constexpr const char* kJournal = ".coilward-csv.json";

// "2026-05-04" of "2026-05-04T06:12:09.250Z"; empty when it is no such time.
std::string day_of(const Json& item, const char* key) {
  const std::string time = item.value(key, "");
  const bool sound = time.size() >= 20 && time[4] == '-' && time[7] == '-' && time[10] == 'T' &&
                     time.find_first_not_of("0123456789-T:.Z") == std::string::npos;
  return sound ? time.substr(0, 10) : std::string();
}

std::map<std::string, std::string> lines_of(const Json& batch) {
  std::map<std::string, std::string> lines;
  for (int i = 0; i < kCsvKinds; ++i) {
    const CsvKind& kind = csv_kind(i);
    for (const Json& item : batch.value(kind.array, Json::array()))
      if (const auto day = day_of(item, kind.time_key); !day.empty())
        lines[std::string(kind.array) + "-" + day + ".csv"] += kind.row(item);
  }
  return lines;
}

std::string header_for(const std::string& name) {
  for (int i = 0; i < kCsvKinds; ++i)
    if (name.starts_with(std::string(csv_kind(i).array) + "-")) return csv_kind(i).header();
  return {};
}

Json fresh_journal() { return {{"version", 1}, {"done", Json::array()}, {"writing", nullptr}}; }

bool sound(const Json& journal) {
  return journal.is_object() && journal.value("version", 0) == 1 && journal.contains("done") &&
         journal["done"].is_array() && journal.contains("writing");
}

}  // namespace

CsvStore::CsvStore(const Json& json)
    : directory_(json.value("directory", "")), sync_(json.value("sync", true)) {
  if (directory_.empty() || directory_[0] != '/')
    throw std::invalid_argument("directory must be an absolute path, found \"" + directory_ + "\"");
}

Reply CsvStore::store(std::string_view batch_json) {
  interrupted_ = false;
  const Json batch = Json::parse(batch_json, nullptr, false);
  if (!batch.is_object() || batch.value("version", 0) != 1 || batch.value("id", "").empty())
    return {COILWARD_REFUSED, "not a batch of version 1 with an id"};
  const std::string id = batch.value("id", "");
  if (auto wrong = load_journal(); !wrong.empty()) return {COILWARD_RETRY, wrong};
  if (auto wrong = undo_half_written(); !wrong.empty()) return {COILWARD_RETRY, wrong};
  const Json& done = journal_["done"];
  if (std::find(done.begin(), done.end(), Json(id)) != done.end()) return {COILWARD_DONE, "already written"};
  if (auto wrong = write(id, lines_of(batch)); !wrong.empty()) return {COILWARD_RETRY, wrong};
  return {COILWARD_DONE, "written"};
}

std::string CsvStore::write(const std::string& id, const Lines& lines) {
  Json sizes = Json::object();
  for (const auto& [name, text] : lines) sizes[name] = file_size(path(name));
  journal_["writing"] = {{"id", id}, {"sizes", sizes}};
  std::string wrong = save_journal();
  for (auto it = lines.begin(); it != lines.end() && wrong.empty(); ++it)
    wrong = interrupted_ ? "interrupted" : append(path(it->first), header_for(it->first), it->second, sync_);
  if (!wrong.empty()) {
    undo_half_written();  // when that fails too, the next batch tries again before it writes
    return wrong;
  }
  journal_["writing"] = nullptr;
  journal_["done"].push_back(id);
  while (journal_["done"].size() > kBatchesRemembered) journal_["done"].erase(0);
  wrong = save_journal();
  if (!wrong.empty()) loaded_ = false;  // what the disk says counts
  return wrong;
}

std::string CsvStore::undo_half_written() {
  const Json writing = journal_["writing"];
  if (!writing.is_object()) return {};
  const Json sizes = writing.value("sizes", Json::object());
  for (const auto& [name, size] : sizes.items())
    if (auto wrong = cut(path(name), size.get<std::int64_t>()); !wrong.empty()) return wrong;
  journal_["writing"] = nullptr;
  auto wrong = save_journal();
  if (!wrong.empty()) loaded_ = false;
  return wrong;
}

std::string CsvStore::load_journal() {
  if (loaded_) return {};
  std::string text;
  bool found = false;
  if (auto wrong = read(path(kJournal), text, found); !wrong.empty()) return wrong;
  journal_ = found ? Json::parse(text, nullptr, false) : fresh_journal();
  if (!sound(journal_))
    return path(kJournal) + " is damaged: move it away to go on (the last batch may then be there twice)";
  loaded_ = true;
  return {};
}

std::string CsvStore::save_journal() { return replace(directory_, kJournal, journal_.dump() + "\n", sync_); }

}  // namespace coilward_plugins
