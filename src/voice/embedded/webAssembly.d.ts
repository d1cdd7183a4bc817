/** The part of WebAssembly used here (W3C WebAssembly JavaScript Interface); Node has it, its types do not. */
declare namespace WebAssembly {
  class Module {
    private readonly compiled: true;
    static imports(module: Module): { module: string; name: string; kind: string }[];
  }
  class Memory {
    readonly buffer: ArrayBuffer;
  }
  type Instance = { readonly exports: Readonly<Record<string, unknown>> };
  function compile(bytes: Uint8Array): Promise<Module>;
  function instantiate(module: Module, imports: Record<string, Record<string, unknown>>): Promise<Instance>;
}
