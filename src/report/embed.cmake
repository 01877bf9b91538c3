# SPDX-License-Identifier: Apache-2.0
# Style and script of the report's page as C++ text in isthmus_report: written when CMake runs, again
# when one of them changes.
set(report_page_dir ${CMAKE_SOURCE_DIR}/src/report/page)
set(report_page_code "// Made from src/report/page by src/report/embed.cmake.\n#include \"report/page_parts.hpp\"\n\nnamespace isthmus::report {\n")
foreach(entry page_style=report.css page_script=report.js)
  string(REPLACE "=" ";" entry "${entry}")
  list(GET entry 0 function)
  list(GET entry 1 file)
  file(READ ${report_page_dir}/${file} text)
  string(APPEND report_page_code "std::string_view ${function}() { return R\"~page~(${text})~page~\"; }\n")
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${report_page_dir}/${file})
endforeach()
string(APPEND report_page_code "}  // namespace isthmus::report\n")
file(CONFIGURE OUTPUT ${CMAKE_BINARY_DIR}/report/page_text.cpp CONTENT "${report_page_code}" @ONLY)
target_sources(isthmus_report PRIVATE ${CMAKE_BINARY_DIR}/report/page_text.cpp)
