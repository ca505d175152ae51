// English: rate tests, each with its formula and the numbers put in.
export const rates = {
  title: "Rate test",
  under: "Tray, target plants, plant count",
  wrong: "Numbers above nought are expected in every box.",
  tray: {
    title: "Tray test",
    what: "Turn the drive wheel, catch what comes out, weigh it. Three catches tell how much they differ.",
    fields: { turns: "Turns of the drive wheel", wheel_m: "Wheel, m a turn, loaded", width_m: "Width caught, m", first: "First catch, kg", second: "Second catch, kg", third: "Third catch, kg" },
    area: (turns: string, wheel: string, width: string, area: string) => `Ground: ${turns} turns × ${wheel} m × ${width} m ÷ 10 000 = ${area} ha`,
    rate: (mean: string, area: string, rate: string) => `Rate: ${mean} kg ÷ ${area} ha = ${rate}`,
    spread: (cv: string, again: boolean) => `The catches differ by ${cv} %${again ? ": more than 5 %, catch again" : ""}.`,
  },
  field: {
    title: "In the field",
    what: "A wheel that slips or carries more turns otherwise than in the yard. Count its turns over 100 m that were driven and measured.",
    fields: { turns: "Turns over 100 m" },
    rate: (tray: string, turns: string, wheel: string, rate: string) => `Really: ${tray} kg/ha × ${turns} × ${wheel} m ÷ 100 m = ${rate}`,
  },
  plants: {
    title: "Target plants",
    what: "The seed that so many plants need.",
    fields: { plants: "Plants wanted, a m²", seed_g: "1000 seeds weigh, g", germination: "Germination, %", establishment: "Establishment, %" },
    rate: (plants: string, seed: string, survival: string, rate: string) => `Rate: ${plants} /m² × ${seed} g ÷ ${survival} ÷ 100 = ${rate}`,
  },
  count: {
    title: "Plant count",
    what: "Weeks later: count plants along a row, in several places.",
    fields: { plants: "Plants counted", row_m: "Along a row of, m", spacing_cm: "Row spacing, cm", rate: "Seed sown, kg/ha", seed_g: "1000 seeds weigh, g" },
    stand: (plants: string, row: string, spacing: string, stand: string) => `Stand: ${plants} ÷ ${row} m ÷ ${spacing} m = ${stand} plants/m²`,
    came: (stand: string, seed: string, rate: string, part: string) => `Came up: ${stand} × ${seed} g ÷ ${rate} kg/ha ÷ 100 = ${part} %. Use it as establishment × germination next time.`,
  },
  take: { seed: "Take it as the seed rate", fert: "Take it as the fertiliser rate" },
  taken: (rate: string) => `${rate} is kept on this phone under Prices.`,
  kg_ha: (kg_ha: number, acres: boolean) => `${kg_ha.toFixed(kg_ha < 20 ? 1 : 0)} kg/ha${acres ? ` (${(kg_ha * 0.8921791).toFixed(kg_ha < 20 ? 1 : 0)} lb/ac)` : ""}`,
};
