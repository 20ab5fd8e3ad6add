#include "daemon/give_back.h"

#include <link.h>
#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cstdint>

namespace coilward {
namespace {

// Only what is executable and never written: pages that relocation has changed are nowhere else.
int drop_text(dl_phdr_info* object, std::size_t, void* page_size) {
  const std::uintptr_t page = *static_cast<const std::uintptr_t*>(page_size);
  for (int i = 0; i < object->dlpi_phnum; ++i) {
    const auto& segment = object->dlpi_phdr[i];
    if (segment.p_type != PT_LOAD || (segment.p_flags & (PF_X | PF_W)) != PF_X) continue;
    const std::uintptr_t from = (object->dlpi_addr + segment.p_vaddr) / page * page;
    const std::uintptr_t to = object->dlpi_addr + segment.p_vaddr + segment.p_memsz;
    ::madvise(reinterpret_cast<void*>(from), to - from, MADV_DONTNEED);
  }
  return 0;
}

}  // namespace

void give_back_memory() {
  ::malloc_trim(0);
  auto page = static_cast<std::uintptr_t>(::sysconf(_SC_PAGESIZE));
  ::dl_iterate_phdr(drop_text, &page);
}

}  // namespace coilward
