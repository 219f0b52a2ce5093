"""To Jupyter the provisioner is one like any other."""

from __future__ import annotations

import json
from pathlib import Path

import nbformat
import pytest
from jupyter_client.kernelspec import KernelSpec
from jupyter_client.provisioning import KernelProvisionerFactory
from nbclient import NotebookClient
from nbclient.exceptions import DeadKernelError

from kit.runs.forked.provisioner import NAME, ForkProvisioner


@pytest.fixture
def forked_spec(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A kernel spec that anybody may write, which asks for a forked kernel by the entry point's name."""
    folder = tmp_path / "jupyter" / "kernels" / "forked"
    folder.mkdir(parents=True)
    content = {
        "argv": ["python", "-m", "ipykernel_launcher", "-f", "{connection_file}"],
        "display_name": "Forked",
        "language": "python",
        "metadata": {"kernel_provisioner": {"provisioner_name": NAME}},
    }
    (folder / "kernel.json").write_text(json.dumps(content), encoding="utf-8")
    monkeypatch.setenv("JUPYTER_PATH", str(tmp_path / "jupyter"))
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "ipython"))
    return "forked"


def test_the_entry_point_is_registered() -> None:
    spec = KernelSpec(metadata={"kernel_provisioner": {"provisioner_name": NAME}})
    factory = KernelProvisionerFactory()
    assert factory.is_provisioner_available(spec)
    assert isinstance(factory.create_provisioner_instance("a", spec, None), ForkProvisioner)


def test_stock_nbclient_runs_a_notebook_with_it(forked_spec: str) -> None:
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("print(6 * 7)")])
    NotebookClient(notebook, kernel_name=forked_spec, timeout=60).execute()
    assert notebook.cells[0].outputs[0].text == "42\n"


def test_stock_nbclient_is_told_of_a_dead_kernel(forked_spec: str) -> None:
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("import os\nos._exit(3)")])
    with pytest.raises(DeadKernelError, match="died"):
        NotebookClient(notebook, kernel_name=forked_spec, timeout=60).execute()


_SHELL = """\
import os, sys
shell = get_ipython()
print(shell.kernel.shell is shell, shell.parent is shell.kernel, shell.execution_count)
print(sys.modules["__main__"].__dict__ is shell.user_ns, "left" in shell.user_ns, flush=True)
left = os.fork()
if not left:
    print("said by a child", flush=True)
    os._exit(0)
_ = os.waitpid(left, 0)
"""


@pytest.mark.parametrize("kernel", ["forked", "python3"])
def test_a_forked_kernel_has_the_shell_that_the_parent_made_for_its_own(forked_spec: str, kernel: str) -> None:
    """As a kernel started by itself has; and the second finds nothing of the first."""
    for _ in range(2):
        notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(_SHELL)])
        NotebookClient(notebook, kernel_name=kernel, timeout=60).execute()
        said = "".join(output.text for output in notebook.cells[0].outputs)
        assert said.split() == ["True", "True", "2", "True", "False", "said", "by", "a", "child"]
