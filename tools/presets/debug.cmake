# Fast to build, easy to step through, with the library's own checks on.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_CXX_FLAGS_DEBUG "-O0 -g1 -D_GLIBCXX_ASSERTIONS" CACHE STRING "")
