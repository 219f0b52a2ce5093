"""What the package uses of other packages' private or undocumented parts: each is there, in the shape relied on.

The one list of them. An upgrade that moves one fails here first, and says what is to be looked at.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, reduce
from importlib.metadata import version
from pathlib import Path
from typing import Any

import papermill.execute
import pytest

from kit.runs.notebook import normalise

KIT = Path(__file__).parents[1] / "kit"
TRAIT = "a setting"  # of traitlets


@dataclass(frozen=True)
class Part:
    """One part of another package."""

    place: str  # module:name.name
    why: str
    used_in: str  # below kit/
    shape: tuple[str, ...] | str = ()  # parameters that a call gives; a setting; or a text of the part's source


PARTS = (
    # nbconvert
    Part(
        "nbconvert.exporters.html:HTMLExporter._init_resources",
        "a page without copies and checks",
        "views/exporter.py",
        ("resources",),
    ),
    Part(
        "nbconvert.exporters.html:HTMLExporter._template_paths",
        "the project's own folder comes first",
        "views/exporter.py",
        (),
    ),
    Part(
        "nbconvert.exporters.html:HTMLExporter._template_name_default",
        "the project's template is the default",
        "views/exporter.py",
    ),
    Part(
        "nbconvert.exporters.html:HTMLExporter.markdown2html",
        "sentences that recur are made once",
        "views/exporter.py",
        ("source",),
    ),
    Part(
        "nbconvert.exporters.templateexporter:TemplateExporter.from_notebook_node",
        "passes over the pass that changes nothing",
        "views/exporter.py",
        ("nb", "resources"),
    ),
    # papermill and nbclient: the plain engine
    Part(
        "papermill.clientwrap:PapermillNotebookClient",
        "keeps what ran when a cell fails",
        "runs/notebook/client.py",
        ("nb_man",),
    ),
    Part(
        "papermill.clientwrap:PapermillNotebookClient.papermill_execute_cells",
        "dead kernels and time-outs are told",
        "runs/notebook/client.py",
    ),
    Part(
        "papermill.engines:NBClientEngine.execute_managed_notebook",
        "its signature is the engine's",
        "runs/notebook/client.py",
        ("nb_man", "kernel_name", "log_output", "stdout_file", "stderr_file", "start_timeout", "execution_timeout"),
    ),
    Part(
        "papermill.engines:NotebookExecutionManager.cell_exception",
        "marks the cell that failed",
        "runs/notebook/client.py",
        ("cell", "cell_index", "exception"),
    ),
    Part(
        "papermill.engines:NotebookExecutionManager.cell_exception",
        "where the mark stands",
        "runs/notebook/client.py",
        "papermill['exception'] = True",
    ),
    Part(
        "papermill.execute:ERROR_MARKER_TAG",
        "the tag of marker cells, left out of the evidence",
        "runs/notebook/normalise.py",
    ),
    Part(
        "nbclient:NotebookClient.wait_for_reply",
        "asks for the language within the time limit",
        "runs/notebook/client.py",
        ("msg_id",),
    ),
    # jsonschema
    Part(
        "jsonschema._format:",
        "an import of the URI parsers that fails is allowed for",
        "runs/notebook/lean_schemas.py",
        "rfc3987_syntax",
    ),
    # nbclient: the fast engine
    Part(
        "nbclient:NotebookClient.output",
        "an output that needs no check is kept as it came",
        "runs/forked/quick_client.py",
        ("outs", "msg", "display_id", "cell_index"),
    ),
    Part(
        "nbclient:NotebookClient.output",
        "widgets catch outputs there",
        "runs/forked/quick_client.py",
        "self.output_hook_stack",
    ),
    Part(
        "nbclient:NotebookClient.output",
        "an output may be there to be cleared",
        "runs/forked/quick_client.py",
        "self.clear_before_next_output",
    ),
    Part(
        "nbclient:NotebookClient._check_raise_for_error",
        "whether a failure ends the notebook",
        "runs/forked/quick_client.py",
        ("cell", "cell_index", "exec_reply"),
    ),
    Part(
        "nbclient:NotebookClient.process_message",
        "keeps what a cell shows",
        "runs/forked/quick_client.py",
        ("msg", "cell", "cell_index"),
    ),
    # jupyter_client: the fast engine
    Part(
        "jupyter_client.client:KernelClient._async_wait_for_ready",
        "waits for news instead of asking again and again",
        "runs/forked/fork_manager.py",
        ("timeout",),
    ),
    Part(
        "jupyter_client.client:KernelClient._async_is_alive",
        "a kernel that ended at once",
        "runs/forked/fork_manager.py",
    ),
    Part(
        "jupyter_client.asynchronous.client:AsyncKernelClient.wait_for_ready",
        "the name under which it is called",
        "runs/forked/fork_manager.py",
        ("timeout",),
    ),
    Part(
        "jupyter_client.manager:KernelManager._async_pre_start_kernel",
        "gives the provisioner without a search",
        "runs/forked/fork_manager.py",
    ),
    Part(
        "jupyter_client.manager:KernelManager._async_pre_start_kernel",
        "a provisioner that is there is taken",
        "runs/forked/fork_manager.py",
        "self.provisioner",
    ),
    Part(
        "jupyter_client.manager:KernelManager._async_interrupt_kernel",
        "no interrupt before a kill",
        "runs/forked/fork_manager.py",
    ),
    Part(
        "jupyter_client.manager:KernelManager._async_cleanup_resources",
        "the kernel's folder goes with it",
        "runs/forked/fork_manager.py",
        ("restart",),
    ),
    Part(
        "jupyter_client.manager:AsyncKernelManager.cleanup_resources",
        "the name under which it is called",
        "runs/forked/fork_manager.py",
        ("restart",),
    ),
    Part("jupyter_client.manager:KernelManager.shutting_down", "whether a kill follows", "runs/forked/fork_manager.py"),
    Part(
        "jupyter_client.provisioning.local_provisioner:LocalProvisioner.launch_kernel",
        "a fork in place of a process",
        "runs/forked/provisioner.py",
        ("cmd",),
    ),
    # ipykernel and IPython: the fast engine
    Part(
        "ipykernel.kernelapp:IPKernelApp.init_control",
        "leaves out a thread that no notebook here needs",
        "runs/forked/kernel.py",
        ("context",),
    ),
    Part(
        "ipykernel.kernelapp:IPKernelApp.initialize",
        "reads settings by the application's base",
        "runs/forked/kernel.py",
        "super().initialize(argv)",
    ),
    Part(
        "ipykernel.kernelapp:IPKernelApp.parent_handle",
        "no poller: the kernel ends with its parent anyway",
        "runs/forked/kernel.py",
        TRAIT,
    ),
    Part(
        "ipykernel.kernelapp:IPKernelApp.outstream_class",
        "a stream that flushes what was written",
        "runs/forked/kernel.py",
        TRAIT,
    ),
    Part(
        "ipykernel.kernelbase:Kernel._supports_kernel_subshells",
        "leaves out a thread that no notebook here needs",
        "runs/forked/kernel.py",
    ),
    Part(
        "ipykernel.ipkernel:IPythonKernel.do_execute",
        "a cell that awaits asks that thread for its parent",
        "runs/forked/kernel.py",
        "self.shell_channel_thread.parent_thread",
    ),
    Part("ipykernel.kernelbase:Kernel.msg_types", "a request for several cells", "runs/forked/kernel.py"),
    Part(
        "ipykernel.kernelbase:Kernel.set_parent",
        "what a cell shows is told as its own",
        "runs/forked/kernel.py",
        ("ident", "parent", "channel"),
    ),
    Part(
        "ipykernel.kernelbase:Kernel._publish_execute_input",
        "tells that a cell begins",
        "runs/forked/kernel.py",
        ("code", "parent", "execution_count"),
    ),
    Part(
        "ipykernel.ipkernel:IPythonKernel.do_execute",
        "runs one cell",
        "runs/forked/kernel.py",
        ("code", "silent"),
    ),
    Part(
        "ipykernel.iostream:IOPubThread.schedule",
        "waits until what was shown is sent",
        "runs/forked/kernel.py",
        ("f",),
    ),
    Part("ipykernel.ipkernel:IPythonKernel._execute_sleep", "no sleep after each cell", "runs/forked/kernel.py", TRAIT),
    Part("ipykernel.ipkernel:sys", "no list of every module for a debugger", "runs/forked/kernel.py"),
    Part(
        "ipykernel.ipkernel:IPythonKernel.__init__",
        "takes the shell that is there already",
        "runs/forked/kernel.py",
        "shell_class.instance(",
    ),
    Part(
        "ipykernel.zmqshell:ZMQInteractiveShell.kernel",
        "the shell is made before its kernel",
        "runs/forked/kernel.py",
        TRAIT,
    ),
    Part("ipykernel.compiler:XCachingCompiler", "the shell is made as the kernel would", "runs/forked/kernel.py"),
    Part("ipykernel.iostream:OutStream.flush", "waits for another thread, even for nothing", "runs/forked/streams.py"),
    Part(
        "ipykernel.iostream:OutStream",
        "whether something was written",
        "runs/forked/streams.py",
        "self._flush_pending = ",
    ),
    Part(
        "ipykernel.iostream:OutStream",
        "whether something was written",
        "runs/forked/streams.py",
        "self._subprocess_flush_pending = ",
    ),
    Part(
        "IPython.core.application:BaseIPythonApplication.initialize",
        "settings are read once, before the fork",
        "runs/forked/kernel.py",
        ("argv",),
    ),
)
"""Every part, with one line why."""

DOCUMENTED = {"_exit"}  # of os


def found(part: Part) -> Any:
    module, _, names = part.place.partition(":")
    return reduce(getattr, filter(None, names.split(".")), importlib.import_module(module))


def source_of(owner: Any) -> str:
    return inspect.getsource(inspect.unwrap(owner))


@pytest.mark.parametrize("part", PARTS, ids=lambda part: f"{part.place}-{part.why}")
def test_a_private_part_is_as_it_is_relied_on(part: Part) -> None:
    name = part.place.partition(":")[0].partition(".")[0].lower().replace("_", "-")
    moved = f"{name} {version(name)} has moved {part.place}: {part.why}. Look at kit/{part.used_in}"
    try:
        there = found(part)
    except (ImportError, AttributeError):
        pytest.fail(f"{moved}: it is gone.")
    if part.shape == TRAIT:
        assert part.place.rpartition(".")[2] in found(Part(part.place.rpartition(".")[0], "", "")).class_traits(), moved
    elif isinstance(part.shape, str):
        assert part.shape in source_of(there), f"{moved}: its source has no {part.shape!r} any more."
    elif part.shape:
        known = inspect.signature(there).parameters.values()
        takes_any = any(each.kind is each.VAR_KEYWORD for each in known)
        wanting = set(part.shape) - {each.name for each in known}
        assert not wanting or takes_any, f"{moved}: it takes no {sorted(wanting)} any more."


def test_every_part_is_used_where_the_list_says() -> None:
    def is_named(part: Part) -> bool:
        text = (KIT / part.used_in).read_text(encoding="utf-8")
        names = [*part.place.replace(":", ".").split("."), *([part.shape] if isinstance(part.shape, str) else [])]
        return any(name.strip("_ =").rpartition(".")[2] in text for name in names[-2:])

    assert [part.place for part in PARTS if not is_named(part)] == []


def test_the_tag_of_marker_cells_is_papermills() -> None:
    assert normalise._MARKER == papermill.execute.ERROR_MARKER_TAG


@dataclass(frozen=True)
class Module:
    """What a module of the package names."""

    place: str
    own: frozenset[str]  # names that it gives to something of its own
    used: frozenset[str]  # private attributes that it asks for
    methods: dict[str, frozenset[str]]  # private names in the body of each of its classes that have a base


@cache
def modules() -> list[Module]:
    return [_read(path) for path in sorted(KIT.rglob("*.py"))]


def _read(path: Path) -> Module:
    own, used = set(), set()
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            own.add(node.name)
        elif isinstance(node, ast.Attribute):
            (own if isinstance(node.ctx, ast.Store) else used).add(node.attr)
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            own.add(node.id)
    methods = {
        node.name: frozenset(filter(is_private, _names_in(node)))
        for node in tree.body
        if isinstance(node, ast.ClassDef) and node.bases
    }
    return Module(path.relative_to(KIT).as_posix(), frozenset(own), frozenset(filter(is_private, used)), methods)


def _names_in(body: ast.ClassDef) -> Iterator[str]:
    for node in body.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node.name
        elif isinstance(node, ast.Assign):
            yield from (target.id for target in node.targets if isinstance(target, ast.Name))


def is_private(name: str) -> bool:
    return name.startswith("_") and not name.startswith("__")


def test_no_other_private_attribute_is_used() -> None:
    own = DOCUMENTED.union(*(module.own for module in modules()))
    used = {(module.place, name) for module in modules() for name in module.used - own}
    assert used <= {(part.used_in, name) for part in PARTS for name in _private_names(part)}


def _private_names(part: Part) -> set[str]:
    words = [*part.place.replace(":", ".").split("."), *(part.shape.split() if isinstance(part.shape, str) else ())]
    return {word.rpartition(".")[2] for word in words}


@pytest.mark.skipif(sys.platform == "win32", reason="kernels are not forked there")
def test_no_other_private_method_is_overridden() -> None:
    """Of every class of the package that has a base elsewhere."""
    overridden = set()
    for module in modules():
        for name, methods in module.methods.items():
            if methods:
                imported = importlib.import_module("kit." + module.place.removesuffix(".py").replace("/", "."))
                bases = [base for base in getattr(imported, name).__mro__ if not base.__module__.startswith("kit")]
                overridden |= {method for method in methods if any(hasattr(base, method) for base in bases)}
    assert overridden
    assert overridden <= {part.place.rpartition(".")[2] for part in PARTS}
