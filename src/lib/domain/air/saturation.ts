/**
 * Saturation vapour pressure over liquid water, 0 to 200 C.
 *
 * Magnus-type forms are not offered: they are 2 % wrong at 100 C and 12 % at 200 C, and a roaster's
 * exhaust lives there.
 */

/** 0 C in kelvin. */
export const ZERO_C_IN_K = 273.15;

/** Lowest and highest temperature of the Hyland-Wexler equation over liquid water, C. */
export const SATURATION_RANGE_C = { lowest: 0, highest: 200 } as const;

/**
 * Saturation vapour pressure, Pa, at a temperature in C. NaN outside 0..200 C: the equation is not
 * stated there and is not extrapolated.
 *
 * Source: Hyland and Wexler (1983) as in ASHRAE Handbook Fundamentals 2017, chapter 1, equation 6.
 */
export function saturationPressurePa(temperatureC: number): number {
	if (!(temperatureC >= SATURATION_RANGE_C.lowest && temperatureC <= SATURATION_RANGE_C.highest)) {
		return NaN;
	}
	return Math.exp(logSaturationPressure(temperatureC + ZERO_C_IN_K));
}

/** Natural logarithm of the saturation pressure in Pa at a temperature in kelvin; no range check. */
function logSaturationPressure(tK: number): number {
	const polynomial = 1.3914993 + tK * (-4.8640239e-2 + tK * (4.1764768e-5 + tK * -1.4452093e-8));
	return -5.8002206e3 / tK + polynomial + 6.5459673 * Math.log(tK);
}

/** Derivative of `logSaturationPressure` by temperature, 1/K. */
function logSaturationSlope(tK: number): number {
	return (
		5.8002206e3 / (tK * tK) -
		4.8640239e-2 +
		tK * (2 * 4.1764768e-5 + tK * 3 * -1.4452093e-8) +
		6.5459673 / tK
	);
}

/**
 * The same quantity by the equation of Wagner and Pruss, from the triple point to the critical point;
 * kept as an independent check on the one above. NaN outside 0.01..373.946 C.
 *
 * Source: IAPWS SR1-86(1992), equation 1 (coefficients from memory, checked on its three fixed
 * points).
 */
export function saturationPressureIapwsPa(temperatureC: number): number {
	const criticalK = 647.096;
	const tK = temperatureC + ZERO_C_IN_K;
	if (!(temperatureC >= 0.01 && tK <= criticalK)) return NaN;
	const tau = 1 - tK / criticalK;
	const sum =
		-7.85951783 * tau +
		1.84408259 * tau ** 1.5 -
		11.7866497 * tau ** 3 +
		22.6807411 * tau ** 3.5 -
		15.9618719 * tau ** 4 +
		1.80122502 * tau ** 7.5;
	return 22.064e6 * Math.exp((criticalK / tK) * sum);
}

/**
 * Dew point, C, of air with the given vapour pressure in Pa: the temperature at which that pressure
 * saturates. NaN where it lies outside 0..200 C.
 */
export function dewPointC(vapourPressurePa: number): number {
	const lowest = saturationPressurePa(SATURATION_RANGE_C.lowest);
	const highest = saturationPressurePa(SATURATION_RANGE_C.highest);
	if (!(vapourPressurePa >= lowest && vapourPressurePa <= highest)) return NaN;
	const target = Math.log(vapourPressurePa);
	// Newton's method on ln p against 1/T, in which the curve is nearly straight: five steps settle
	// to the last digit from anywhere in the range.
	let tK = 1 / (1 / 373.124 - (target - Math.log(101325)) / 4900);
	for (let step = 0; step < 6; step++) {
		const slopeByInverse = -logSaturationSlope(tK) * tK * tK;
		tK = 1 / (1 / tK - (logSaturationPressure(tK) - target) / slopeByInverse);
	}
	return tK - ZERO_C_IN_K;
}
