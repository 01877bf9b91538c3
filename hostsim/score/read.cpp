// SPDX-License-Identifier: Apache-2.0
#include <yaml-cpp/yaml.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "score.hpp"

namespace isthmus::score {
namespace {

Spot spot_of(const YAML::Node& place, const YAML::Node& side) {
  return {place[0].as<double>(), place[1].as<double>(), side ? side.as<std::string>() : ""};
}

Truth truth_of(const YAML::Node& node) {
  Truth truth;
  truth.kind = node["kind"].as<std::string>();
  truth.line = node.Mark().line + 1;
  if (node["at"]) truth.spots.push_back(spot_of(node["at"], node["side"]));
  if (node["from"])
    truth.spots = {spot_of(node["from"], node["side"]), spot_of(node["to"], node["side"])};
  if (node["ohm"]) truth.ohm = node["ohm"].as<double>();
  if (node["nets"]) truth.nets = node["nets"].as<std::vector<std::string>>();
  return truth;
}

Suspect suspect_of(const nlohmann::json& node) {
  Suspect suspect;
  const std::string side = node.value("side", "");
  suspect.spot = {node.at("x_mm").get<double>(), node.at("y_mm").get<double>(), side};
  if (!node.contains("path")) return suspect;
  for (const auto& p : node.at("path"))
    suspect.path.push_back({p.at(0).get<double>(), p.at(1).get<double>(), side});
  return suspect;
}

}  // namespace

std::vector<Truth> read_truths(const std::string& path) {
  try {
    const YAML::Node root = YAML::LoadFile(path);
    std::vector<Truth> truths;
    for (const char* key : {"drawn", "defects"}) {
      for (const YAML::Node& node : root[key]) truths.push_back(truth_of(node));
    }
    return truths;
  } catch (const YAML::Exception& e) {
    throw std::runtime_error(path + ": " + e.what());
  }
}

Report read_report(const std::string& path) {
  std::ifstream file(path);
  if (!file) throw std::runtime_error(path + ": cannot be read");
  try {
    const nlohmann::json root = nlohmann::json::parse(file);
    Report report;
    report.verdict = root.at("verdict").get<std::string>();
    for (const auto& node : root.at("findings")) {
      Finding finding{
          node.at("kind").get<std::string>(), node.at("nets").get<std::vector<std::string>>(), {}};
      for (const auto& s : node.at("suspects")) finding.suspects.push_back(suspect_of(s));
      report.findings.push_back(finding);
    }
    return report;
  } catch (const nlohmann::json::exception& e) {
    throw std::runtime_error(path + ": " + e.what());
  }
}

}  // namespace isthmus::score
