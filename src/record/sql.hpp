// SPDX-License-Identifier: Apache-2.0
// SQLite in a few words. The first failure is kept and everything after it does nothing, so that a
// caller writes its statements one after another and asks once at the end.
#pragma once

#include <sqlite3.h>

#include <cstdint>
#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "isthmus/base/result.hpp"

namespace isthmus::record {

// One row of an answer; columns from 0.
class Row {
 public:
  explicit Row(sqlite3_stmt* statement) : statement_(statement) {}
  [[nodiscard]] std::int64_t whole(int column) const {
    return sqlite3_column_int64(statement_, column);
  }
  template <class Number = std::size_t>
  [[nodiscard]] Number as(int column) const {
    return static_cast<Number>(whole(column));
  }
  [[nodiscard]] double real(int column) const { return sqlite3_column_double(statement_, column); }
  [[nodiscard]] std::string text(int column) const;
  [[nodiscard]] bool null(int column) const {
    return sqlite3_column_type(statement_, column) == SQLITE_NULL;
  }

 private:
  sqlite3_stmt* statement_;
};

class Sql {
 public:
  // A Problem REC-001, REC-004.
  static Result<std::unique_ptr<Sql>> open(const std::filesystem::path& file);
  ~Sql();
  Sql(const Sql&) = delete;
  Sql& operator=(const Sql&) = delete;

  template <class... Values>
  void run(const std::string& sql, const Values&... values) {
    each(
        sql, [](const Row&) {}, values...);
  }
  // Calls `visit` for every row.
  template <class Visit, class... Values>
  void each(const std::string& sql, Visit visit, const Values&... values) {
    sqlite3_stmt* const statement = prepare(sql);
    if (!statement) return;
    int at = 0;
    (bind(statement, ++at, values), ...);
    while (step(statement)) visit(Row(statement));
    sqlite3_reset(statement);
  }
  std::int64_t number(const std::string& sql);  // the single number a statement gives

  void script(const char* sql);  // several statements
  [[nodiscard]] std::int64_t last_id() const { return sqlite3_last_insert_rowid(connection_); }
  [[nodiscard]] bool read_only() const { return sqlite3_db_readonly(connection_, "main") == 1; }
  [[nodiscard]] bool in_transaction() const { return sqlite3_get_autocommit(connection_) == 0; }

  void fail(Problem problem);
  [[nodiscard]] bool failed() const { return failure_.has_value(); }
  // The first failure since the last call, if any; the connection can be used again.
  std::optional<Problem> take_failure() { return std::exchange(failure_, std::nullopt); }

 private:
  struct Finalize {
    void operator()(sqlite3_stmt* s) const { sqlite3_finalize(s); }
  };

  Sql(sqlite3* connection, std::filesystem::path file);
  sqlite3_stmt* prepare(const std::string& sql);
  bool step(sqlite3_stmt* statement);
  void note_failure();
  void bound(int code);
  void bind(sqlite3_stmt* s, int at, std::string_view text);
  void bind(sqlite3_stmt* s, int at, double value) { bound(sqlite3_bind_double(s, at, value)); }
  template <class Whole>
  requires std::is_integral_v<Whole>
  void bind(sqlite3_stmt* s, int at, Whole value) {
    bound(sqlite3_bind_int64(s, at, static_cast<std::int64_t>(value)));
  }
  template <class T>
  void bind(sqlite3_stmt* s, int at, const std::optional<T>& value) {
    if (value)
      bind(s, at, *value);
    else
      bound(sqlite3_bind_null(s, at));
  }

  sqlite3* connection_;
  std::filesystem::path file_;
  std::map<std::string, std::unique_ptr<sqlite3_stmt, Finalize>> prepared_;
  std::optional<Problem> failure_;
};

// A Problem about this record file.
Problem record_problem(std::string code, const std::filesystem::path& file, std::string message,
                       std::string hint = "");

}  // namespace isthmus::record
