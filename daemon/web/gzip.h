// gzip (RFC 1952) in pieces, for answers to whoever takes it. Beast's own deflate behind it. Thread: one at a
// time.
#pragma once

#include <memory>
#include <string>
#include <string_view>

namespace coilward {

class Gzip {
 public:
  Gzip();
  ~Gzip();
  // Takes the next piece and gives what can be sent of it: all of it can be unpacked at once.
  std::string add(std::string_view piece);
  // What ends the stream; nothing can be added after it.
  std::string finish();

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

std::string gzip(std::string_view text);
// Whether an Accept-Encoding field (RFC 9110, section 12.5.3) allows it.
bool takes_gzip(std::string_view accept_encoding);

}  // namespace coilward
