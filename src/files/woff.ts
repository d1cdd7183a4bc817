import { inflateSync } from 'node:zlib';

const headerBytes = 44;
const entryBytes = 20;
const sfntHeaderBytes = 12;
const sfntEntryBytes = 16;
const signature = 0x774f4646;

/**
 * Unpacks a WOFF 1.0 file (W3C Recommendation, 13 December 2012, sections 3 to 5) to the font tables it was made from.
 * Unpacking is done once, because a reader that unpacks a table each time it needs a letter takes seconds for a large
 * font.
 *
 * @throws RangeError when it is not a WOFF 1.0 file
 */
export function unpackedWoff(woff: Uint8Array): Uint8Array {
  const view = new DataView(woff.buffer, woff.byteOffset, woff.byteLength);
  if (woff.length < headerBytes || view.getUint32(0) !== signature)
    throw new RangeError('not a WOFF 1.0 file');
  const tables = Array.from({ length: view.getUint16(12) }, (_, index) =>
    tableAt(view, headerBytes + index * entryBytes),
  );
  let end = sfntHeaderBytes + tables.length * sfntEntryBytes;
  const places = tables.map(({ length }) => {
    const place = end;
    end += Math.ceil(length / 4) * 4;
    return place;
  });
  const font = new Uint8Array(end);
  const written = new DataView(font.buffer);
  writeHeader(written, view.getUint32(4), tables.length);
  tables.forEach((table, index) => {
    const place = places[index] ?? 0;
    const entry = sfntHeaderBytes + index * sfntEntryBytes;
    [table.tag, table.checksum, place, table.length].forEach((value, field) => {
      written.setUint32(entry + field * 4, value);
    });
    const packed = woff.subarray(table.offset, table.offset + table.packedLength);
    font.set(table.packedLength < table.length ? inflateSync(packed) : packed, place);
  });
  return font;
}

function tableAt(view: DataView, entry: number) {
  const field = (index: number) => view.getUint32(entry + index * 4);
  return { tag: field(0), offset: field(1), packedLength: field(2), length: field(3), checksum: field(4) };
}

/** Writes the header. The search fields are those of OpenType 1.9, "Table directory". */
function writeHeader(view: DataView, flavor: number, tableCount: number): void {
  const entrySelector = Math.floor(Math.log2(tableCount));
  const searchRange = 2 ** entrySelector * 16;
  view.setUint32(0, flavor);
  view.setUint16(4, tableCount);
  view.setUint16(6, searchRange);
  view.setUint16(8, entrySelector);
  view.setUint16(10, tableCount * 16 - searchRange);
}
