// Preloaded into a daemon under test: the look-up of a name that ends in ".stuck" never comes back, like that
// of a resolver whose answer is lost (facts F10). Leaves a file, named by STUCK_LOOKUP_SEEN, once it hangs.
#include <dlfcn.h>
#include <fcntl.h>
#include <netdb.h>
#include <unistd.h>

#include <cstdlib>
#include <string_view>

extern "C" int getaddrinfo(const char* name, const char* service, const addrinfo* hints, addrinfo** found) {
  if (name && std::string_view(name).ends_with(".stuck")) {
    if (const char* seen = std::getenv("STUCK_LOOKUP_SEEN")) ::close(::creat(seen, 0600));
    for (;;) ::pause();
  }
  using Lookup = decltype(&getaddrinfo);
  return reinterpret_cast<Lookup>(::dlsym(RTLD_NEXT, "getaddrinfo"))(name, service, hints, found);
}
