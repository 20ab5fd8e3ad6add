// Turns batches of CSV or JSON lines into pieces of one answer: header first, then the batches, then the end.
#pragma once

#include <optional>
#include <string>
#include <utility>

#include "daemon/web/history_stream.h"

namespace coilward {

// Lines of the next batch; nullopt: that was all. An empty text is a batch without lines.
using Batches = std::function<Result<std::optional<std::string>>()>;

class StreamDress {
 public:
  StreamDress(StreamForm form, std::string header, Batches batches)
      : form_(std::move(form)), header_(std::move(header)), batches_(std::move(batches)) {}

  // BodyPieces. Batches without lines are passed over.
  Result<std::string> next() {
    if (ended_) return std::string();
    std::string piece = start();
    for (int i = 0; piece.empty() || i == 0; ++i) {
      auto batch = batches_();
      if (!batch) return batch.error();
      if (!*batch) return piece + end();
      piece += dressed(std::move(**batch));
    }
    return piece;
  }

 private:
  std::string start() {
    if (std::exchange(started_, true)) return {};
    return form_.enclosed ? form_.before : header_;
  }
  std::string end() {
    ended_ = true;
    return form_.enclosed ? "]}\n" : "";
  }
  // JSON text holds no raw newline, so each one ends a line.
  std::string dressed(std::string lines) {
    if (!form_.enclosed || lines.empty()) return lines;
    lines.pop_back();
    std::string out = std::exchange(any_, true) ? "," : "";
    for (const char c : lines) out += c == '\n' ? std::string_view(",\n") : std::string_view(&c, 1);
    return out;
  }

  StreamForm form_;
  std::string header_;
  Batches batches_;
  bool started_ = false, ended_ = false, any_ = false;
};

}  // namespace coilward
