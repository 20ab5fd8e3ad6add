// Cuts a text that comes in pieces into lines. Thread: one.
#pragma once

#include <functional>
#include <string>
#include <string_view>

namespace coilward {

class LineSink {
 public:
  using Line = std::function<void(std::string_view)>;
  explicit LineSink(Line line) : line_(std::move(line)) {}

  // Calls for each whole line, without its end; the rest waits for the next piece.
  void take(std::string_view text) {
    for (std::size_t end = text.find('\n'); end != std::string_view::npos; end = text.find('\n')) {
      rest_.append(text.substr(0, end));
      line_(rest_);
      rest_.clear();
      text.remove_prefix(end + 1);
    }
    rest_.append(text);
  }

 private:
  Line line_;
  std::string rest_;
};

}  // namespace coilward
