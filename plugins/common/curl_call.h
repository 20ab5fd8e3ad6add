// One transfer with libcurl that ends at its time limit or at an interrupt, whichever is first, wherever it
// stands: in a name look-up, a handshake or a reply that never comes.
#pragma once

#include <curl/curl.h>

#include <atomic>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

namespace coilward_plugins {

struct CurlFree {
  void operator()(CURL* handle) const { curl_easy_cleanup(handle); }
  void operator()(curl_slist* list) const { curl_slist_free_all(list); }
  void operator()(curl_mime* mime) const { curl_mime_free(mime); }
};
using CurlHandle = std::unique_ptr<CURL, CurlFree>;
using CurlList = std::unique_ptr<curl_slist, CurlFree>;
using CurlMime = std::unique_ptr<curl_mime, CurlFree>;

// Adds to a list; keeps it as it was when memory runs out.
void add(CurlList& list, const std::string& line);

struct CallResult {
  CURLcode code = CURLE_OK;
  bool interrupted = false;
  bool out_of_time = false;
  std::string error;  // libcurl's words, with the kind of failure before them; empty when code is CURLE_OK
};

// Thread: run() one at a time; interrupt() from any.
class CurlCalls {
 public:
  CurlCalls();
  ~CurlCalls();
  CurlCalls(const CurlCalls&) = delete;
  CurlCalls& operator=(const CurlCalls&) = delete;

  // Runs what `handle` is set up for. TLS is verified unless the caller said otherwise; only the given
  // protocols (such as "http,https") are spoken.
  CallResult run(CURL* handle, const char* protocols, const std::string& ca_file, double timeout_s);
  void interrupt();

 private:
  enum class End { finished, out_of_time, interrupted };
  End drive(CURL* handle, double timeout_s, CURLcode& code);
  static curl_socket_t open_socket(void* self, curlsocktype, curl_sockaddr* address);
  static int close_socket(void* self, curl_socket_t socket);

  CURLM* multi_;
  std::atomic<bool> interrupted_{false};
  std::mutex mutex_;  // guards sockets_: none may be closed, and its number used anew, while it is shut down
  std::vector<curl_socket_t> sockets_;
};

}  // namespace coilward_plugins
