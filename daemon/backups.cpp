#include "daemon/backups.h"

#include <boost/asio/post.hpp>

#include "daemon/base/pipeline_json.h"
#include "daemon/history/backup.h"

namespace coilward {
namespace {

constexpr std::chrono::seconds kCommitFirst{10};  // own choice: a disk that is slow, not one that is full

Json backup_json(const BackupReport& report) {
  Json files = Json::array();
  for (const BackupFile& file : report.files)
    files.push_back({{"name", file.name}, {"bytes", file.bytes}, {"sha256", file.sha256}});
  return {{"directory", report.directory}, {"taken", time_or_null(report.taken)}, {"files", files}};
}

}  // namespace

void Backups::make(const std::string& target, JsonCallback answer) {
  threads_.emplace_back([this, target, answer = std::move(answer)](const std::stop_token& stop) {
    keeper_.flush(kCommitFirst);
    auto report = back_up(state_directory_, target, clock_.utc(), stop);
    Result<Json> result = report ? json_result(backup_json(*report)) : Result<Json>(report.error());
    boost::asio::post(core_, [answer, result = std::move(result)] { answer(result); });
  });
}

}  // namespace coilward
