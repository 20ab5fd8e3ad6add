#include "plugins/common/curl_call.h"

#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>

#include "plugins/common/failure_words.h"

namespace coilward_plugins {
namespace {

constexpr int kPollMs = 250;  // a stalled transfer is looked at this often; interrupts do not wait for it

std::string failure_of(CURL* handle, CURLcode code, const char* words) {
  long os_error = 0;
  curl_easy_getinfo(handle, CURLINFO_OS_ERRNO, &os_error);
  return failure_words(code, os_error, words[0] != '\0' ? words : curl_easy_strerror(code));
}

void start_curl_once() {
  static std::once_flag once;
  std::call_once(once, [] { curl_global_init(CURL_GLOBAL_DEFAULT); });
}

}  // namespace

void add(CurlList& list, const std::string& line) {
  if (curl_slist* longer = curl_slist_append(list.get(), line.c_str())) {
    static_cast<void>(list.release());
    list.reset(longer);
  }
}

CurlCalls::CurlCalls() {
  start_curl_once();
  multi_ = curl_multi_init();
}

CurlCalls::~CurlCalls() { curl_multi_cleanup(multi_); }

// libcurl also waits inside one call, for the answer to a QUIT: shutting the sockets ends that too.
void CurlCalls::interrupt() {
  interrupted_ = true;
  curl_multi_wakeup(multi_);
  std::lock_guard lock(mutex_);
  for (curl_socket_t socket : sockets_) ::shutdown(socket, SHUT_RDWR);
}

curl_socket_t CurlCalls::open_socket(void* self, curlsocktype, curl_sockaddr* address) {
  const curl_socket_t socket = ::socket(address->family, address->socktype | SOCK_CLOEXEC, address->protocol);
  auto& calls = *static_cast<CurlCalls*>(self);
  std::lock_guard lock(calls.mutex_);
  if (socket != CURL_SOCKET_BAD) calls.sockets_.push_back(socket);
  return socket;
}

int CurlCalls::close_socket(void* self, curl_socket_t socket) {
  auto& calls = *static_cast<CurlCalls*>(self);
  std::lock_guard lock(calls.mutex_);
  std::erase(calls.sockets_, socket);
  return ::close(socket);
}

CallResult CurlCalls::run(CURL* handle, const char* protocols, const std::string& ca_file, double timeout_s) {
  interrupted_ = false;
  char words[CURL_ERROR_SIZE] = {};
  curl_easy_setopt(handle, CURLOPT_ERRORBUFFER, words);
  curl_easy_setopt(handle, CURLOPT_NOSIGNAL, 1L);
  curl_easy_setopt(handle, CURLOPT_QUICK_EXIT, 1L);  // no waiting for a name look-up that hangs
  curl_easy_setopt(handle, CURLOPT_CONNECTTIMEOUT_MS, std::max(1L, static_cast<long>(timeout_s * 1000)));
  curl_easy_setopt(handle, CURLOPT_PROTOCOLS_STR, protocols);
  curl_easy_setopt(handle, CURLOPT_SSLVERSION, static_cast<long>(CURL_SSLVERSION_TLSv1_2));
  curl_easy_setopt(handle, CURLOPT_FORBID_REUSE, 1L);
  curl_easy_setopt(handle, CURLOPT_OPENSOCKETFUNCTION, open_socket);
  curl_easy_setopt(handle, CURLOPT_OPENSOCKETDATA, this);
  curl_easy_setopt(handle, CURLOPT_CLOSESOCKETFUNCTION, close_socket);
  curl_easy_setopt(handle, CURLOPT_CLOSESOCKETDATA, this);
  if (!ca_file.empty()) curl_easy_setopt(handle, CURLOPT_CAINFO, ca_file.c_str());
  CallResult result;
  const End end = drive(handle, timeout_s, result.code);
  result.interrupted = end == End::interrupted;
  result.out_of_time = end == End::out_of_time;
  if (result.interrupted)
    result.error = "interrupted";
  else if (result.out_of_time)
    result.error = "no answer in time";
  else if (result.code != CURLE_OK)
    result.error = failure_of(handle, result.code, words);
  curl_easy_setopt(handle, CURLOPT_ERRORBUFFER, nullptr);
  return result;
}

// The time limit is kept here: libcurl's own would politely say QUIT and wait two minutes for the answer.
CurlCalls::End CurlCalls::drive(CURL* handle, double timeout_s, CURLcode& code) {
  const auto deadline =
      std::chrono::steady_clock::now() + std::chrono::milliseconds{static_cast<long>(timeout_s * 1000)};
  curl_multi_add_handle(multi_, handle);
  int running = 1;
  bool in_time = true;
  while (running > 0 && !interrupted_ && in_time) {
    if (curl_multi_perform(multi_, &running) != CURLM_OK) break;
    if (running > 0) curl_multi_poll(multi_, nullptr, 0, kPollMs, nullptr);
    in_time = std::chrono::steady_clock::now() < deadline;
  }
  code = CURLE_ABORTED_BY_CALLBACK;
  int left = 0;
  while (const CURLMsg* message = curl_multi_info_read(multi_, &left))
    if (message->msg == CURLMSG_DONE) code = message->data.result;
  curl_multi_remove_handle(multi_, handle);
  if (running == 0 && !(interrupted_ && code != CURLE_OK)) return End::finished;
  return interrupted_ ? End::interrupted : End::out_of_time;
}

}  // namespace coilward_plugins
