/** What the form of a page would send, as it is: text, hidden and number fields, ticked boxes, chosen options. */
export async function formOf(response: Response): Promise<Record<string, string>> {
  const page = (await response.text())
    .replaceAll('&#x3D;', '=')
    .replaceAll('&#x2F;', '/')
    .replaceAll('&amp;', '&');
  const inputs = [...page.matchAll(/<input([^>]*) name="([^"]+)"([^>]*?) value="([^"]*)"([^>]*)>/g)].flatMap(
    ([, before = '', name = '', between = '', value = '', after = '']) => {
      const isBox = /type="(checkbox|radio)"/.test(before + between);
      return isBox && !/\bchecked\b/.test(after) ? [] : [[name, value]];
    },
  );
  const selects = [...page.matchAll(/<select name="([^"]+)">(.*?)<\/select>/gs)].map(
    ([, name = '', options = '']) => [name, /value="([^"]*)" selected/.exec(options)?.[1] ?? ''],
  );
  return Object.fromEntries([...inputs, ...selects]);
}
