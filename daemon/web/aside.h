// Answers that take thought, worked out beside the thread that owns the site, so that no message waits for
// them: what the site knows is copied, thought about elsewhere, and then answered. The folder's own header.
// Thread: the SiteAccess's, but for the work itself.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <utility>

#include "daemon/web/api_route.h"

namespace coilward {

// work: has copies of all it needs, and does not throw. answer: with the call as it was.
template <class T>
void answer_aside(const Call& call, std::function<T()> work,
                  std::function<ApiResponse(const Call&, const T&)> answer, Respond respond) {
  auto kept = std::make_shared<KeptCall>(call);
  auto made = std::make_shared<std::optional<T>>();
  call.site.aside([work = std::move(work), made] { made->emplace(work()); },
                  [kept, made, answer = std::move(answer), respond = std::move(respond)] {
                    respond(answer(kept->call, **made));
                  });
}

}  // namespace coilward
