#include "daemon/cli/socket_caller.h"

#include <curl/curl.h>
#include <fmt/format.h>

#include "daemon/web/http_request.h"

namespace coilward {
namespace {

constexpr long kConnectMs = 5000;

}  // namespace

struct SocketCaller::Answer {
  CURL* curl;
  const Sink& sink;
  std::string body = {};
  bool enough = false;

  // libcurl's write function: of a good answer the sink gets the text, of a problem we keep it.
  static std::size_t take(char* data, std::size_t, std::size_t size, void* self) {
    Answer& answer = *static_cast<Answer*>(self);
    long status = 0;
    curl_easy_getinfo(answer.curl, CURLINFO_RESPONSE_CODE, &status);
    if (status != 200 || !answer.sink) {
      answer.body.append(data, size);
      return size;
    }
    answer.enough = !answer.sink({data, size});
    return answer.enough ? 0 : size;
  }
};

SocketCaller::SocketCaller(std::string socket_path)
    : path_(std::move(socket_path)),
      curl_(curl_easy_init()),
      headers_(curl_slist_append(nullptr, "Content-Type: application/json")) {}

SocketCaller::~SocketCaller() {
  curl_slist_free_all(static_cast<curl_slist*>(headers_));
  curl_easy_cleanup(static_cast<CURL*>(curl_));
}

void SocketCaller::prepare(const ApiRequest& request, Answer& answer) {
  CURL* curl = static_cast<CURL*>(curl_);
  curl_easy_reset(curl);
  curl_easy_setopt(curl, CURLOPT_URL, ("http://localhost" + request_target(request)).c_str());
  curl_easy_setopt(curl, CURLOPT_UNIX_SOCKET_PATH, path_.c_str());
  curl_easy_setopt(curl, CURLOPT_PROXY, "");  // whatever the environment says
  curl_easy_setopt(curl, CURLOPT_NOSIGNAL, 1L);
  curl_easy_setopt(curl, CURLOPT_CONNECTTIMEOUT_MS, kConnectMs);
  curl_easy_setopt(curl, CURLOPT_WRITEFUNCTION, &Answer::take);
  curl_easy_setopt(curl, CURLOPT_WRITEDATA, &answer);
  if (request.method != "POST") return;
  curl_easy_setopt(curl, CURLOPT_POSTFIELDSIZE, static_cast<long>(request.body.size()));
  curl_easy_setopt(curl, CURLOPT_COPYPOSTFIELDS, request.body.c_str());
  curl_easy_setopt(curl, CURLOPT_HTTPHEADER, headers_);
}

Result<std::string> SocketCaller::call(const ApiRequest& request, const Sink& sink) {
  if (!curl_) return Error{Cause::world, "libcurl could not be set up"};
  CURL* curl = static_cast<CURL*>(curl_);
  Answer answer{curl, sink};
  prepare(request, answer);
  const CURLcode outcome = curl_easy_perform(curl);
  long status = 0;
  curl_easy_getinfo(curl, CURLINFO_RESPONSE_CODE, &status);
  if (outcome == CURLE_COULDNT_CONNECT)
    return Error{Cause::world,
                 fmt::format("no daemon answers on {}: is coilwardd running? Its files alone can be read "
                             "with --state DIR --config FILE",
                             path_)};
  if (outcome != CURLE_OK && !answer.enough)
    return Error{Cause::world,
                 fmt::format("asking the daemon on {}: {}", path_, curl_easy_strerror(outcome))};
  if (status != 200) return error_of(static_cast<int>(status), answer.body);
  return std::move(answer.body);
}

}  // namespace coilward
