/**
 * Whether somebody is in the middle of something on this page, so that it may not change under their hands:
 * something typed or chosen and not sent, an answer to what was sent, a field in use, a mouse held down, a dialog.
 */
export function isBusy(page: Document, isHeld: boolean, hasAnswer: boolean): boolean {
	if (isHeld || hasAnswer || page.querySelector('dialog[open]')) return true;
	const controls = page.querySelectorAll<Control>('main :is(input, select, textarea)');
	return [...controls].some((each) => each === page.activeElement || isChanged(each));
}

type Control = HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement;

function isChanged(control: Control): boolean {
	if ('options' in control) return isChosenAnew(control);
	if ('checked' in control && ['checkbox', 'radio'].includes(control.type))
		return control.checked !== control.defaultChecked;
	return control.type !== 'hidden' && control.value !== control.defaultValue;
}

function isChosenAnew({ options }: HTMLSelectElement): boolean {
	const all = [...options];
	const isDefault = all.some((option) => option.defaultSelected);
	return all.some(({ selected, defaultSelected }, i) =>
		isDefault ? selected !== defaultSelected : selected && i > 0
	);
}
