// Asks the running daemon through its Unix socket, with libcurl. Thread: one.
#pragma once

#include "daemon/cli/api_caller.h"

namespace coilward {

class SocketCaller final : public ApiCaller {
 public:
  explicit SocketCaller(std::string socket_path);
  ~SocketCaller() override;
  // world: nobody answers, or the answer was cut.
  Result<std::string> call(const ApiRequest& request, const Sink& sink) override;

 private:
  struct Answer;
  void prepare(const ApiRequest& request, Answer& answer);
  std::string path_;
  void* curl_;  // CURL, kept for its connection
  void* headers_;
};

}  // namespace coilward
