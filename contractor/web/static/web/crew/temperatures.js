// Temperatures as thermometers show them: [K per degree, K at zero, words].

export const TEMPERATURE = { degF: [5 / 9, 459.67 * 5 / 9, "\u00b0F"], degC: [1, 273.15, "\u00b0C"] };
