# Address and undefined-behaviour sanitizers.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_CXX_FLAGS_DEBUG "-O1 -D_GLIBCXX_ASSERTIONS" CACHE STRING "")
set(COILWARD_SANITIZE "address,undefined" CACHE STRING "")
