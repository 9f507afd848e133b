/** Air pressure at sea level in the standard atmosphere, Pa. */
export const STANDARD_PRESSURE_PA = 101325;

/**
 * Air pressure of the standard atmosphere, Pa, at an altitude in metres. NaN outside -5,000 to 11,000
 * m, where the equation is not stated.
 *
 * Source: ASHRAE Handbook Fundamentals 2017, chapter 1, equation 3.
 */
export function standardPressurePa(altitudeM: number): number {
	if (!(altitudeM >= -5000 && altitudeM <= 11000)) return NaN;
	return STANDARD_PRESSURE_PA * (1 - 2.25577e-5 * altitudeM) ** 5.2559;
}
