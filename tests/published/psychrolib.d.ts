/** The few functions of psychrolib 1.1.1 that the checks call; the package ships no types. */
declare module 'psychrolib' {
	const psychrolib: {
		readonly SI: number;
		SetUnitSystem(system: number): void;
		GetHumRatioFromRelHum(
			temperatureC: number,
			relativeHumidity: number,
			pressurePa: number
		): number;
		GetMoistAirDensity(temperatureC: number, humidityRatio: number, pressurePa: number): number;
		GetTDewPointFromRelHum(temperatureC: number, relativeHumidity: number): number;
	};
	export default psychrolib;
}
