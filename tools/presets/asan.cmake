# Address and undefined-behaviour sanitizers.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_CXX_FLAGS_DEBUG "-O1 -D_GLIBCXX_ASSERTIONS" CACHE STRING "")
set(COILWARD_SANITIZE "address,undefined" CACHE STRING "")
set(COILWARD_TEST_FLAGS "-O0;-fno-sanitize=undefined" CACHE STRING "")
# Files of a folder are compiled together: most of a file's time is its headers'. While working on a file, turn it off.
set(CMAKE_UNITY_BUILD ON CACHE BOOL "")
set(CMAKE_UNITY_BUILD_BATCH_SIZE 8 CACHE STRING "")
