// SPDX-License-Identifier: Apache-2.0
#include "record/sql.hpp"

namespace isthmus::record {
namespace {

constexpr int kBusyMilliseconds = 2000;

}  // namespace

Problem record_problem(std::string code, const std::filesystem::path& file, std::string message,
                       std::string hint) {
  Problem p;
  p.file = file.string();
  p.code = std::move(code);
  p.message = std::move(message);
  p.hint = std::move(hint);
  return p;
}

std::string Row::text(int column) const {
  const unsigned char* const bytes = sqlite3_column_text(statement_, column);
  if (!bytes) return {};
  const int size = sqlite3_column_bytes(statement_, column);
  return {reinterpret_cast<const char*>(bytes), static_cast<std::size_t>(size)};
}

Result<std::unique_ptr<Sql>> Sql::open(const std::filesystem::path& file) {
  std::error_code ignored;
  if (std::filesystem::is_directory(file, ignored)) {
    return record_problem("REC-001", file, "this is a folder, not a record",
                          "name a file in it, for example bench.isthmus");
  }
  sqlite3* connection = nullptr;
  const int code = sqlite3_open_v2(file.c_str(), &connection,
                                   SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, nullptr);
  std::unique_ptr<Sql> sql(new Sql(connection, file));
  if (code != SQLITE_OK || sql->read_only()) {
    const std::string why = code == SQLITE_OK ? "it is read-only" : sqlite3_errmsg(connection);
    return record_problem("REC-004", file, "the record cannot be written: " + why,
                          "does the folder exist, and may you write there?");
  }
  sqlite3_busy_timeout(connection, kBusyMilliseconds);
  return sql;
}

Sql::Sql(sqlite3* connection, std::filesystem::path file)
    : connection_(connection), file_(std::move(file)) {}

Sql::~Sql() {
  prepared_.clear();
  sqlite3_close(connection_);
}

void Sql::fail(Problem problem) {
  if (!failure_) failure_ = std::move(problem);
}

void Sql::note_failure() {
  const std::string why = sqlite3_errmsg(connection_);
  switch (sqlite3_errcode(connection_)) {
    case SQLITE_NOTADB:
    case SQLITE_CORRUPT:
      return fail(record_problem("REC-001", file_, "this is not a record, or it is damaged: " + why,
                                 "name another file with --record"));
    case SQLITE_READONLY:
    case SQLITE_CANTOPEN:
    case SQLITE_PERM:
      return fail(record_problem("REC-004", file_, "the record cannot be written: " + why,
                                 "does the folder exist, and may you write there?"));
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return fail(record_problem("REC-005", file_, "another program keeps the record locked",
                                 "close it, or name another file with --record"));
    default:
      return fail(record_problem("REC-006", file_, "the record could not be used: " + why,
                                 "is the disk full? What was journalled before is kept"));
  }
}

sqlite3_stmt* Sql::prepare(const std::string& sql) {
  if (failed()) return nullptr;
  auto& kept = prepared_[sql];
  if (!kept) {
    sqlite3_stmt* statement = nullptr;
    const int code = sqlite3_prepare_v2(connection_, sql.c_str(), -1, &statement, nullptr);
    kept.reset(statement);
    if (code != SQLITE_OK) {
      note_failure();
      return nullptr;
    }
  }
  return kept.get();
}

bool Sql::step(sqlite3_stmt* statement) {
  if (failed()) return false;
  const int code = sqlite3_step(statement);
  if (code == SQLITE_ROW) return true;
  if (code != SQLITE_DONE) note_failure();
  return false;
}

void Sql::bound(int code) {
  if (code != SQLITE_OK) note_failure();
}

void Sql::bind(sqlite3_stmt* s, int at, std::string_view text) {
  // A null pointer would bind NULL instead of the empty text.
  bound(sqlite3_bind_text64(s, at, text.empty() ? "" : text.data(), text.size(), SQLITE_TRANSIENT,
                            SQLITE_UTF8));
}

std::int64_t Sql::number(const std::string& sql) {
  std::int64_t out = 0;
  each(sql, [&](const Row& row) { out = row.whole(0); });
  return out;
}

void Sql::script(const char* sql) {
  if (failed()) return;
  if (sqlite3_exec(connection_, sql, nullptr, nullptr, nullptr) != SQLITE_OK) note_failure();
}

}  // namespace isthmus::record
