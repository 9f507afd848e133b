import { FIGURES, loadAgreementPage } from '#lib/server/views/agreement.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = ({ locals, url }) => {
	const asked = (name: string) => url.searchParams.get(name)?.trim() ?? '';
	return loadAgreementPage(locals.database.orm, {
		figure: FIGURES.find((each) => each === asked('figure')) ?? 'onset',
		kind: asked('kind'),
		stage: asked('stage'),
		verdict: asked('verdict'),
		person: asked('person')
	});
};
