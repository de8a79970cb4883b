// Answers lines "T RH P" (degC, fraction, Pa) with what psychrolib makes of them, as JSON:
// saturation pressure, vapour pressure, humidity ratio, enthalpy (J/kg), wet bulb, dew point,
// vapour pressure deficit. A line "altitude Z" is answered with the pressure there.
// Run in the folder where npm installed it.
"use strict";
const { createRequire } = require("module");
const path = require("path");
const psychro = createRequire(path.join(process.cwd(), "package.json"))("psychrolib");

psychro.SetUnitSystem(psychro.SI);
const lines = require("fs").readFileSync(0, "utf8").trim().split("\n");
const answers = lines.map((line) => {
  const words = line.split(" ");
  if (words[0] === "altitude") return [psychro.GetStandardAtmPressure(Number(words[1]))];
  const [t, rh, p] = words.map(Number);
  const w = psychro.GetHumRatioFromRelHum(t, rh, p);
  return [
    psychro.GetSatVapPres(t),
    psychro.GetVapPresFromRelHum(t, rh),
    w,
    psychro.GetMoistAirEnthalpy(t, w),
    psychro.GetTWetBulbFromRelHum(t, rh, p),
    psychro.GetTDewPointFromRelHum(t, rh),
    psychro.GetVaporPressureDeficit(t, w, p),
  ];
});
process.stdout.write(JSON.stringify(answers));
